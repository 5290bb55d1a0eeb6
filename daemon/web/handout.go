package web

import (
	"fmt"
	"strings"
	"time"

	"clutchd/incubation/handout"
	"clutchd/incubation/review"
)

// Handout tells a review for paper, in the words of its page. look says how
// values are told and what sheet they go onto; its zone is the review's. The
// error is of a zone that this machine does not know.
func Handout(r review.Review, look handout.Look, sheet handout.Paper) (handout.Review, error) {
	say, err := reviewWords(r, look.Fahrenheit)
	if err != nil {
		return handout.Review{}, err
	}
	look.Zone = say.zone
	if look.Site == "" {
		look.Site = r.Site
	}
	if look.Printed.IsZero() {
		look.Printed = r.Made
	}
	return say.handout(r, look, sheet), nil
}

func (w words) handout(r review.Review, look handout.Look, sheet handout.Paper) handout.Review {
	b, dated := w.reviewBody(r), w
	dated.now = time.Time{} // what says when always says its year: paper goes with the animal
	look.Day, look.Short = w.dates.form().full, w.dates.form().short
	out := handout.Review{
		Look: look, Paper: sheet, Of: r, Title: b.Title, Marks: b.Marks, Said: b.Said, Cautions: b.Cautions,
		About: strings.Join(filled(b.Site, b.Species, "as of "+dated.day(r.Made)), " · "),
	}
	if !b.Over {
		out.Note = "Not over yet: an egg of this clutch still lives, and what stands here goes on changing."
	}
	fact := func(name, text string) {
		if text != "" {
			out.Facts = append(out.Facts, handout.Fact{Name: name, Text: text})
		}
	}
	fact("Dam", strings.Join(append([]string{b.Dam}, b.DamFacts...), ", "))
	fact("Possible sires", strings.Join(b.Sires, "; "))
	fact("Laid", dated.laid(r.Laid))
	for _, row := range b.Rows {
		out.Rows = append(out.Rows, handout.Row{Name: row.Name, Cells: row.Cells, Alike: row.One})
	}
	for i, k := range b.Records {
		out.Lain = append(out.Lain, k.onPaper(r.Records[i], len(b.Records)))
	}
	for _, g := range courseGroups(r) {
		out.Courses = append(out.Courses, handout.Course{Title: eggsNamed(r, g), Egg: longestOf(r, g), Ends: g})
	}
	out.Written = linesOf(b.Written)
	return out
}

// onPaper tells what eggs lay at; records is how many there are.
func (k reviewRecord) onPaper(r review.Record, records int) handout.Lain {
	out := handout.Lain{
		Title: "What they lay at", Stays: linesOf(k.Stays), Probes: linesOf(k.Probes), Gaps: linesOf(k.Gaps),
	}
	if records > 1 {
		out.Title = "What " + strings.Replace(k.Title, "Egg", "egg", 1) + " lay at"
	}
	if k.Lowest != "" {
		out.Sums = "Lowest " + k.Lowest + ", mean " + k.Mean + ", highest " + k.Highest + "."
		if k.Aims != "" {
			out.Sums += " Thermostat: " + k.Aims + "."
		}
	}
	for _, e := range k.Excursions {
		out.Excursions = append(out.Excursions, handout.Excursion{
			When: e.When, Lasted: e.Lasted, Worst: e.Worst, Limit: strings.Join(filled(e.Limit, e.Note), "; "),
		})
	}
	var more []string
	if k.More > 0 {
		more = append(more, fmt.Sprintf("%d more excursions are in the files.", k.More))
	}
	if k.Brief > 0 {
		more = append(more, fmt.Sprintf("%d more were too short to raise an alert.", k.Brief))
	}
	if k.MoreGaps > 0 {
		more = append(more, fmt.Sprintf("%d more gaps are in the files.", k.MoreGaps))
	}
	if len(k.Excursions) == 0 && r.Readings > 0 {
		more = append([]string{"Never outside a limit for long enough to raise an alert."}, more...)
	}
	out.More = strings.Join(more, " ")
	return out
}

func linesOf(list []dated) []handout.Line {
	var out []handout.Line
	for _, d := range list {
		out = append(out, handout.Line{When: d.When, What: d.What, Note: d.Note})
	}
	return out
}

// filled leaves out what is empty.
func filled(texts ...string) []string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}
