package web

import (
	"slices"
	"strings"

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
			males, her := v.maleTaps(v.preset("female"))
			return []field{
				v.who("female", "Female", v.lookable()), her,
				{Name: "male", Label: "Male", Type: "radio", Taps: males},
				{
					Name: "outcome", Label: "What came of it", Type: "radio",
					Taps: taps("", string(incubation.Accepted), "accepted", string(incubation.Refused), "refused",
						string(incubation.Unseen), "not seen"),
				},
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
// first, the others with what stands in the way. What is held against each of
// them is about her, and said once, in the field that tells the answer that
// it was shown.
func (v *visit) maleTaps(female string) ([]tap, field) {
	her := field{Name: "judged", Type: "hidden", Value: female}
	all := v.animals("", func(a *incubation.Animal) bool { return a.Sex == incubation.Male && a.Here() })
	if v.snap.Book.Animals[female] == nil {
		var out []tap
		for _, o := range all {
			out = append(out, tap{Value: o.Value, Text: o.Text, Chosen: o.Value == v.preset("male")})
		}
		return out, her
	}
	var fit, unfit []tap
	held, said, barred := map[string]int{}, map[string][]string{}, map[string]int{}
	for _, j := range v.rhythm().Males(female) { // the best first
		t := tap{Value: j.Male, Text: v.snap.Book.Name(j.Male), Chosen: j.Male == v.preset("male")}
		stops, warns := judged(j)
		for _, s := range stops {
			held[s]++
		}
		barred[j.Male] = len(stops)
		said[j.Male] = append(stops, warns...)
		her.Hint = receptive(j, lastSure(v.snap.Book.Animals[female]))
		if j.Allowed && !j.Kin.Close {
			fit = append(fit, t)
			continue
		}
		unfit = append(unfit, t)
	}
	slices.SortStableFunc(unfit, func(a, b tap) int { return barred[a.Value] - barred[b.Value] })
	fit = append(fit, unfit...)
	var hers []string
	for i := range fit {
		own := slices.DeleteFunc(said[fit[i].Value], func(s string) bool {
			every := len(all) > 1 && held[s] == len(all)
			if every && !slices.Contains(hers, s) {
				hers = append(hers, s)
			}
			return every
		})
		fit[i].Hint = strings.Join(own, ". ")
	}
	if len(hers) > 0 {
		her.Label = "Better not now: " + strings.Join(hers, ". ") + "."
	}
	return fit, her
}
