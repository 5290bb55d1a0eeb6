package alerts_test

import (
	"time"

	"clutchd/alerts"
)

const hour = time.Hour

// lifeRows are those of what goes on while an alert is told, and of causes.
func lifeRows() []phaseRow {
	return []phaseRow{
		{"behind a cause nothing begins", "normal", behind, 0, alerts.Normal, ""},
		{"a cause that is told ends the on-delay", "in on-delay", behind, 10 * minute, alerts.Normal, alerts.ReasonOnDelayEnded},
		{"an active alert whose cause is told stays, and is silent", "active", behind, 20 * minute, alerts.Active, ""},
		{"so does an acknowledged one", "acknowledged", behind, 20 * minute, alerts.Active, ""},
		{"behind a cause the off-delay is held", "in off-delay", behind, 25 * minute, alerts.InOffDelay, ""},
		{"acknowledged, behind a cause: the off-delay is held", "in off-delay, acknowledged", behind, 25 * minute, alerts.InOffDelay, ""},
		{"cleared stays so behind a cause", "cleared", behind, 30 * minute, alerts.Cleared, ""},
		{"again beyond, then behind a cause: not begun", "cleared, again beyond", behind, 40 * minute, alerts.Cleared, alerts.ReasonOnDelayEnded},
		{"a latched alert behind a cause says nothing", "latched", behind, hour, alerts.Active, ""},

		{"nobody acknowledges: told again after the first pause", "active", beyond, 15 * minute, alerts.Active, alerts.ReasonReminded},
		{"a moment before the second pause is over it is still", "reminded", beyond, 25*minute - 1, alerts.Active, ""},
		{"at its end it is told again", "reminded", beyond, 25 * minute, alerts.Active, alerts.ReasonReminded},
		{"in the deadband too", "reminded", deadband, 25 * minute, alerts.Active, alerts.ReasonReminded},
		{"what just went is not told again", "reminded", within, 25 * minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted},
		{"without a value it is told again: nobody knows better", "reminded", nothing, 25 * minute, alerts.Active, alerts.ReasonReminded},
		{"a box that settles is no reason to be silent", "reminded", settling, 25 * minute, alerts.Active, alerts.ReasonReminded},
		{"its cause is, which reminds by itself", "reminded", behind, 25 * minute, alerts.Active, ""},
		{"a latched alert wakes nobody twice: it is over", "latched", within, hour, alerts.Active, ""},
		{"a latched alert is told again hours later: it waits to be seen", "latched", within, 5 * hour, alerts.Active, alerts.ReasonReminded},

		{"on the shelf it is silent", "shelved", beyond, 71*minute - 1, alerts.Active, ""},
		{"its time there over it is told", "shelved", beyond, 71 * minute, alerts.Active, alerts.ReasonUnshelved},
		{"in the deadband too", "shelved", deadband, 71 * minute, alerts.Active, alerts.ReasonUnshelved},
		{"on the shelf its end begins", "shelved", within, 70 * minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted},
		{"off the shelf without a value", "shelved", nothing, 71 * minute, alerts.Active, alerts.ReasonUnshelved},
		{"off the shelf while the box settles", "shelved", settling, 71 * minute, alerts.Active, alerts.ReasonUnshelved},
		{"off the shelf behind a cause", "shelved", behind, 71 * minute, alerts.Active, alerts.ReasonUnshelved},

		{"acknowledged four hours ago and still so: to be seen again", "acknowledged long ago", beyond, 4*hour + 11*minute, alerts.Active, alerts.ReasonRearmed},
		{"a moment before that it is not", "acknowledged long ago", beyond, 4*hour + 11*minute - 1, alerts.Active, ""},
		{"in the deadband too", "acknowledged long ago", deadband, 4*hour + 11*minute, alerts.Active, alerts.ReasonRearmed},
		{"what just went needs nobody", "acknowledged long ago", within, 4*hour + 11*minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted},
		{"without a value it may still be so", "acknowledged long ago", nothing, 4*hour + 11*minute, alerts.Active, alerts.ReasonRearmed},
		{"where a box settles someone was there just now", "acknowledged long ago", settling, 4*hour + 11*minute, alerts.Active, ""},
		{"behind a cause that one is to be seen", "acknowledged long ago", behind, 4*hour + 11*minute, alerts.Active, ""},

		{"once it is to be seen again the pauses begin anew", "rearmed", beyond, 4*hour + 16*minute, alerts.Active, alerts.ReasonReminded},
		{"and not before", "rearmed", deadband, 4*hour + 15*minute, alerts.Active, ""},
		{"its end begins", "rearmed", within, 4*hour + 16*minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted},
		{"told again without a value", "rearmed", nothing, 4*hour + 16*minute, alerts.Active, alerts.ReasonReminded},
		{"and where a box settles", "rearmed", settling, 4*hour + 16*minute, alerts.Active, alerts.ReasonReminded},
		{"silent behind a cause", "rearmed", behind, 4*hour + 16*minute, alerts.Active, ""},

		{"a moment before it rises it is what it was", "acknowledged, rising", beyond, 2*hour + 10*minute - 1, alerts.Active, ""},
		{"a warning that lasts becomes critical, though acknowledged", "acknowledged, rising", beyond, 2*hour + 10*minute, alerts.Active, alerts.ReasonEscalated},
		{"in the deadband too: it still holds", "acknowledged, rising", deadband, 2*hour + 10*minute, alerts.Active, alerts.ReasonEscalated},
		{"what just went does not rise", "acknowledged, rising", within, 2*hour + 10*minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted},
		{"what nobody sees does not rise", "acknowledged, rising", nothing, 2*hour + 10*minute, alerts.Active, ""},
		{"nor does it while the box settles", "acknowledged, rising", settling, 2*hour + 10*minute, alerts.Active, ""},
		{"nor behind a cause that is critical", "acknowledged, rising", behind, 2*hour + 10*minute, alerts.Active, ""},

		{"raised a third time within an hour it is one that comes and goes", "chattering", beyond, 48 * minute, alerts.Active, ""},
		{"it goes on in the deadband", "chattering", deadband, 48 * minute, alerts.Active, ""},
		{"when it goes an hour's wait begins", "chattering", within, 48 * minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted},
		{"it goes on without a value", "chattering", nothing, 48 * minute, alerts.Active, ""},
		{"and while the box settles", "chattering", settling, 48 * minute, alerts.Active, ""},
		{"and behind a cause", "chattering", behind, 48 * minute, alerts.Active, ""},

		{"it comes back within the hour: no news", "chattering, quiet", beyond, 104 * minute, alerts.Active, alerts.ReasonOffDelayEnded},
		{"not quiet for an hour yet: still one occurrence", "chattering, quiet", within, 105*minute - 1, alerts.InOffDelay, ""},
		{"quiet for an hour: cleared", "chattering, quiet", within, 105 * minute, alerts.Cleared, alerts.ReasonCleared},
		{"in the deadband too", "chattering, quiet", deadband, 105 * minute, alerts.Cleared, alerts.ReasonCleared},
		{"without a value nobody knows if it is quiet", "chattering, quiet", nothing, 105 * minute, alerts.InOffDelay, ""},
		{"settling holds the hour", "chattering, quiet", settling, 105 * minute, alerts.InOffDelay, ""},
		{"so does a cause", "chattering, quiet", behind, 105 * minute, alerts.InOffDelay, ""},
	}
}
