package web

import (
	"clutchd/incubation/book"
)

// seasonForm asks how the season's book is kept. Daily is empty for no daily
// message.
func seasonForm() form {
	return form{
		Kind: book.KindSeason, Title: "How the season is kept", Verb: "Write it down",
		fields: func(v *visit) []field {
			d := v.snap.Book.Season
			half, at := "north", ""
			if d.Southern {
				half = "south"
			}
			if d.Daily != nil {
				at = marshalled(*d.Daily)
			}
			return []field{
				{
					Name: "half", Label: "The room’s year", Type: "select",
					Options: options(half, "north", "northern: most begin in mid-winter, about January",
						"south", "southern: half a year later"),
					Hint: "Starting values of the season go by it, until the females’ own dates are known.",
				},
				{
					Name: "daily", Label: "One message a day with what is due, at", Type: "time", Value: at, Optional: true,
					Hint: "By the room’s clock. Empty: none. What is urgent is told at once, as an alert.",
				},
			}
		},
		read: func(a *answers) any {
			d := book.SeasonData{Southern: a.text("half") == "south"}
			if a.text("daily") != "" {
				at := a.clock("daily")
				d.Daily = &at
			}
			return d
		},
	}
}

// seasonFacts tells how the season is kept.
func (v *visit) seasonFacts() []fact {
	d := v.snap.Book.Season
	half, daily := "northern", "none"
	if d.Southern {
		half = "southern"
	}
	if d.Daily != nil {
		daily = marshalled(*d.Daily)
	}
	return []fact{{"The room’s year", half}, {"Daily message", daily}}
}
