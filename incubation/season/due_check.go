package season

import (
	"fmt"
	"slices"
	"time"

	"clutchd/incubation"
)

// longAgo is from when on a check says no longer what comes next. Judgement.
const longAgo = 21 * 24 * time.Hour

// dueCheck says when to look at a female's belly again. looks: something sends
// the keeper to her lay box already, so that an expected laying is no reason.
func (h *Herd) dueCheck(c *course, next *Expected, looks bool) (Item, bool) {
	i := h.of(Check, c)
	if !c.animal.Breeds() && !c.phase.carries() || !h.grown(c) {
		return i, false
	}
	i.Do = "Look at " + h.state.Name(c.animal.ID) + "'s belly"
	last := c.last()
	switch {
	case h.signs(c, &i):
	case last != nil && last.At.After(c.lastLaid()):
		h.again(c, last, &i)
	case len(c.laid) > 0 && h.now.Sub(c.lastLaid()) <= days(h.value(PauseInLaying)):
		h.soon(&i, c.lastLaid(), CheckAfterLaying)
		i.Key = key(Check, c.animal.ID, h.date(c.lastLaid()).Format(time.DateOnly))
		i.Why = fmt.Sprintf("%s %s: the next follicles may show after a week.", h.lastLaid(c), h.on(c.lastLaid()))
	case len(c.laid) > 0:
		h.atRest(c, c.lastLaid(), h.lastLaid(c), &i)
		i.Key = key(Check, c.animal.ID, h.date(c.lastLaid()).Format(time.DateOnly))
	case last != nil:
		h.again(c, last, &i)
	default:
		i.Key, i.By = key(Check, c.animal.ID, "first"), h.now.Add(days(week))
		i.Why = "No check of her is in the book yet. " + h.opens(c)
	}
	if !looks && next != nil && next.Past && (last == nil || last.At.Before(next.By)) {
		i.From = h.now
		i.By = later(i.By, h.now)
		i.Why += fmt.Sprintf(" By her interval a clutch was to be expected by %s. That alone neither reassures "+
			"nor alarms.", h.day(next.By))
	}
	return i, true
}

// soon dates an item by a starting value, counted from a time.
func (h *Herd) soon(i *Item, from time.Time, key string) {
	v := h.values[key]
	i.From, i.By = from.Add(days(v.Value)), from.Add(days(v.High))
	i.Rests = append(i.Rests, key)
}

// grown reports whether a female is old enough to be looked at for follicles.
func (h *Herd) grown(c *course) bool {
	if len(c.animal.Checks)+len(c.laid)+len(c.pairings) > 0 {
		return true
	}
	if t, ok := latestHatch(c.animal.Hatched); ok {
		return float64(monthsBetween(t, h.now.In(h.zone))) >= h.values[MinMonths].Low
	}
	return c.animal.AgeClass != incubation.Young && c.animal.AgeClass != incubation.Subadult
}

// signs looks at once more where the last check showed what should not wait
// and is no vet's matter yet.
func (h *Herd) signs(c *course, i *Item) bool {
	last := c.last()
	if last == nil || !slices.Contains(last.Signs, incubation.Straining) || h.now.Sub(last.At) > signFresh ||
		last.At.Before(c.lastLaid()) {
		return false
	}
	i.Key = key(Check, c.animal.ID, last.Seq)
	i.From, i.By = last.At.Add(days(1)), last.At.Add(days(1))
	i.Why = fmt.Sprintf("Straining %s, and no white eggs were seen: look again. If she goes on, or is weak, "+
		"she goes to a vet.", h.on(last.At))
	return true
}

// again says when to look after a check, by what it showed.
func (h *Herd) again(c *course, last *incubation.Check, i *Item) {
	i.Key = key(Check, c.animal.ID, last.Seq)
	said := capital(seen(last))
	fact := said + " " + h.on(last.At)
	if growing(last.Stage) && h.now.Sub(last.At) > longAgo {
		h.soon(i, last.At, CheckLarge)
		i.Why = fact + ", and not looked at since."
		return
	}
	if p := c.lastAccepted(); p != nil && last.Stage == incubation.Follicular &&
		!p.At.Before(h.midnight(last.At)) {
		h.soon(i, p.At, FlushAfter)
		i.Why = fmt.Sprintf("%s, and %s was accepted %s: follicles flush within the week after. Look whether "+
			"shells form.", fact, h.state.Name(p.Male), h.on(p.At))
		return
	}
	switch last.Stage {
	case incubation.Follicular:
		if last.Size == incubation.Small {
			h.soon(i, last.At, SmallAgain)
			i.Why = fact + ": refusal while they are small is common; look again in some days."
			return
		}
		h.soon(i, last.At, CheckLarge)
		i.Why = fact + ": look again within the week."
	case incubation.Shelling:
		h.soon(i, last.At, CheckLarge)
		i.Why = fact + ": white eggs come next."
	case incubation.Gravid:
		h.soon(i, last.At, CheckLarge)
		i.Why = fact + ": laying is near. Look whether she eats, is strong and does not strain."
	case incubation.Unsure:
		h.soon(i, last.At, SmallAgain)
		i.Why = fact + ": look again in some days."
	default:
		h.atRest(c, last.At, said, i)
	}
}

// atRest says when to look at a female without follicles: weekly while her
// season runs or is about to, monthly otherwise.
func (h *Herd) atRest(c *course, since time.Time, said string, i *Item) {
	fact := said + " " + h.on(since)
	resorbed := c.phase.stage == incubation.Resorbed
	switch {
	case resorbed:
		h.soon(i, since, CheckAtRest)
		l := h.pools[AfterResorption].of(c.animal.ID)
		i.Rests = append(i.Rests, AfterResorption)
		i.Why = fmt.Sprintf("%s: it may be months until the next. Usual here: %.0f to %.0f days: %s.", fact,
			l.Low, l.High, l.Says)
	case h.inSeason(c):
		h.soon(i, since, CheckInSeason)
		i.Why = fact + ". " + h.opens(c)
	default:
		h.soon(i, since, CheckAtRest)
		if o := h.opening(c.animal.ID, openLate); o.Look.After(since) && o.Look.Before(i.From) {
			i.From = o.Look // once more as her season comes near
		}
		i.Why = fact + ", out of her season: a look a month is enough."
	}
}

// inSeason reports whether she is looked at weekly: her cycle ran within the
// pause, or the time to look for its beginning has come and is not long past.
func (h *Herd) inSeason(c *course) bool {
	if s := c.signs; len(s) > 0 && h.now.Sub(s[len(s)-1]) <= days(h.value(PauseInLaying)) {
		return true
	}
	o := h.opening(c.animal.ID, openLate)
	return !h.now.Before(o.Look) && h.now.Before(o.By.Add(openLate))
}

// opens says when her season begins or began.
func (h *Herd) opens(c *course) string {
	o := h.opening(c.animal.ID, openLate)
	switch {
	case !h.begunIn(c, h.season).IsZero():
		return fmt.Sprintf("Her season began %s: look every week.", h.on(h.begunIn(c, h.season)))
	case o.Own > 0:
		return fmt.Sprintf("In past years her season opened about %s: begin to look.", h.day(o.Likely))
	}
	return fmt.Sprintf("A season opens about %s: %s.", h.between(o.From, o.By), o.Says)
}
