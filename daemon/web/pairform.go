package web

import (
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// refusedThen follows a refusal.
const refusedThen = "Refusal while follicles are small is common: look again in some days (common practice, no source)."

func pairForm() form {
	return form{
		Kind: book.KindPaired, Title: "Pairing", Verb: "Write it down", Near: true,
		Hint: "Stay beside them: take the male out when he bites hard or she flees. Quarantine comes first " +
			"(common practice, no source).",
		fields: func(v *visit) []field {
			female := v.preset("female")
			return []field{
				v.who("female", "Female", v.lookable()),
				{Name: "male", Label: "Male", Type: "radio", Taps: v.maleTaps(female)},
				{
					Name: "outcome", Label: "What came of it", Type: "radio",
					Taps: taps("", string(incubation.Accepted), "accepted", string(incubation.Refused), "refused",
						string(incubation.Unseen), "not seen"),
				},
				{Name: "judged", Type: "hidden", Value: female}, // what stands beside the males is about her
				{
					Name: "until", Label: "Taken apart", Type: "datetime-local", Optional: true,
					Hint: "Empty: the same day.",
				},
				{Name: "note", Label: "Note", Optional: true},
			}
		},
		read: func(a *answers) any {
			return book.PairedData{
				Female: a.id("female"), Male: a.id("male"), Outcome: incubation.Reception(a.id("outcome")),
				Until: a.moment("until"), Note: a.text("note"),
			}
		},
		fill: func(say words, data any) map[string]string {
			d := data.(book.PairedData)
			return map[string]string{
				"female": d.Female, "male": d.Male, "outcome": string(d.Outcome), "until": say.typed(d.Until), "note": d.Note,
			}
		},
		doubt: func(v *visit, data any) []string {
			d := data.(book.PairedData)
			if v.r.PostForm.Get("judged") == d.Female {
				return nil // it was read before the male was chosen
			}
			return v.against(d.Female, d.Male)
		},
	}
}

// maleTaps are the males that live here; for a female those that may be tried
// first, the others with what stands in the way.
func (v *visit) maleTaps(female string) []tap {
	var fit, unfit []tap
	for _, o := range v.animals("", func(a *incubation.Animal) bool { return a.Sex == incubation.Male && a.Here() }) {
		t := tap{Value: o.Value, Text: o.Text, Chosen: o.Value == v.preset("male")}
		against := v.against(female, o.Value)
		t.Hint = list(against)
		if len(against) == 0 {
			fit = append(fit, t)
			continue
		}
		unfit = append(unfit, t)
	}
	return append(fit, unfit...)
}
