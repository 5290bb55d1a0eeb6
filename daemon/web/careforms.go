package web

import (
	"strings"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// candleForm asks what shows; whether the egg lives goes with it: one answer,
// "alive/veins".
func candleForm() form {
	return form{
		Kind: book.KindCandle, Title: "Candled", Verb: "Write it down", Near: true,
		Hint: "With a cool light, briefly, without turning the egg. A clear or mouldy egg is not thrown out: " +
			"look again in a week (common practice, no source).",
		fields: func(v *visit) []field {
			return []field{v.eggField(), {
				Name: "seen", Label: "What the light shows", Type: "bellies", Taps: []tap{
					{Value: "alive/" + incubation.Veins, Text: "veins", Hint: "alive", Draw: "veins"},
					{Value: "alive/" + incubation.Dark, Text: "dark, it moves", Hint: "alive, late", Draw: "moves"},
					{Value: "unsure/" + incubation.Dark, Text: "dark, still", Hint: "not sure", Draw: "dark"},
					{Value: "unsure/" + incubation.Clear, Text: "clear", Hint: "too early, or not fertile", Draw: "clear"},
					{Value: "dead/" + incubation.Ring, Text: "ring of blood", Hint: "it stopped early", Draw: "ring"},
					{Value: "unsure", Text: "not sure", Hint: "look again", Draw: "eggask"},
					{Value: "alive", Text: "alive", Hint: "by other signs"},
					{Value: "dead", Text: "dead", Hint: "by other signs"},
				},
			}}
		},
		read: func(a *answers) any {
			seen, shows, _ := strings.Cut(a.text("seen"), "/")
			return book.CandleData{Egg: a.id("egg"), Seen: seen, Shows: shows}
		},
		fill: func(_ words, data any) map[string]string {
			d := data.(book.CandleData)
			if d.Shows != "" {
				d.Seen += "/" + d.Shows
			}
			return map[string]string{"egg": d.Egg, "seen": d.Seen}
		},
	}
}

// lookedForm is about one egg, or a box with all that is in it.
func lookedForm() form {
	return form{
		Kind: book.KindLooked, Title: "Looked at", Verb: "Write it down", Near: true,
		Hint: "Dents in one egg alone, or in all of a dry box, want water beside them, never on them. " + careMould +
			practice,
		fields: lookedFields,
		read: func(a *answers) any {
			d := book.LookedData{
				Dents: a.text("dents"), Wet: a.any("wet"), Mould: a.any("mould"), Aired: a.any("aired"), Note: a.text("note"),
			}
			switch kind, id := a.pair("about"); kind {
			case "egg":
				d.Egg = id
			case "box":
				d.Box, d.Dents = id, ""
			default:
				a.blame("about", "choose one here")
			}
			return d
		},
		fill: func(_ words, data any) map[string]string {
			d := data.(book.LookedData)
			out := map[string]string{"about": "box:" + d.Box, "dents": d.Dents, "note": d.Note}
			if d.Egg != "" {
				out["about"] = "egg:" + d.Egg
			}
			for name, seen := range map[string]bool{"wet": d.Wet, "mould": d.Mould, "aired": d.Aired} {
				if seen {
					out[name] = "yes"
				}
			}
			return out
		},
	}
}

func lookedFields(v *visit) []field {
	about := field{Name: "about", Label: "What was looked at", Type: "select"}
	for _, kind := range []string{"egg", "box"} {
		if id := v.asked(kind); id != "" {
			about = field{Name: "about", Type: "hidden", Value: kind + ":" + id, Label: v.teller().subject(id)}
		}
	}
	if kind, id, ok := strings.Cut(v.r.PostForm.Get("about"), ":"); ok && (kind == "egg" || kind == "box") {
		about = field{Name: "about", Type: "hidden", Value: kind + ":" + id, Label: v.teller().subject(id)}
	}
	if about.Type == "select" {
		for _, o := range v.places("", incubation.Box) {
			about.Options = append(about.Options, option{"box:" + o.Value, o.Text, false})
		}
		for _, o := range v.eggField().Options {
			about.Options = append(about.Options, option{"egg:" + o.Value, "egg " + o.Text, false})
		}
	}
	out := []field{about, {
		Name: "found", Label: "What was done, and seen", Type: "toggles", Optional: true, Taps: []tap{
			{Name: "aired", Value: "yes", Text: "aired"},
			{Name: "wet", Value: "yes", Text: "too wet"},
			{Name: "mould", Value: "yes", Text: "mould"},
		},
	}}
	if !strings.HasPrefix(about.Value, "box:") {
		out = append(out, field{
			Name: "dents", Label: "Dents, of an egg", Type: "radio", Optional: true,
			Taps: taps("", "", "none", incubation.SlightDents, "slight", incubation.DeepDents, "deep"),
		})
	}
	return append(out, field{Name: "note", Label: "Note", Optional: true})
}

func milestoneForm() form {
	return form{
		Kind: book.KindMilestone, Title: "First time", Verb: "Write it down", Near: true,
		Hint: "Yolk that still hangs on is never pulled off (common practice, no source).",
		fields: func(v *visit) []field {
			egg := v.hatchedField()
			if id := v.preset("egg"); v.snap.Book.Eggs[id] != nil {
				egg = field{Name: "egg", Type: "hidden", Value: id, Label: v.teller().egg(id)}
			}
			egg.Hint = ""
			return []field{egg, {
				Name: "what", Label: "What", Type: "radio", Taps: taps("", incubation.YolkIn, "yolk taken up",
					incubation.FirstShed, "first shed", incubation.FirstMeal, "first meal"),
			}}
		},
		read: func(a *answers) any { return book.MilestoneData{Egg: a.id("egg"), What: a.id("what")} },
		fill: func(_ words, data any) map[string]string {
			d := data.(book.MilestoneData)
			return map[string]string{"egg": d.Egg, "what": d.What}
		},
	}
}
