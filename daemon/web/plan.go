package web

import (
	"strconv"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// planSteps is how many changes one form plans at a time.
const planSteps = 4

func planForm() form {
	return form{
		Kind: book.KindPlan, Title: "Plan a change", Verb: "Write the plan down",
		Hint: "For the estimate only: you change the thermostat yourself. A new plan replaces " +
			"the old one; without any change there is none. Days and moves are for eggs only.",
		fields: planFields, read: readPlan,
	}
}

func planFields(v *visit) []field {
	who := field{Name: "about", Label: "For", Type: "select"}
	for _, o := range v.places(v.asked("place"), incubation.Incubator) {
		o.Value = "place:" + o.Value
		who.Options = append(who.Options, o)
	}
	for _, o := range v.eggField().Options {
		o.Value, o.Text = "egg:"+o.Value, "egg "+o.Text
		who.Options = append(who.Options, o)
	}
	return append([]field{who}, v.changeFields()...)
}

// changeFields asks for a plan's changes, four questions each.
func (v *visit) changeFields() []field {
	var out []field
	for i := range planSteps {
		n := strconv.Itoa(i + 1)
		out = append(out,
			field{Name: "at-" + n, Label: "From", Type: "datetime-local", Group: "Change " + n},
			field{Name: "day-" + n, Label: "or from day", Mode: "decimal", Half: true},
			field{
				Name: "celsius-" + n, Label: "to", Mode: "decimal", Suffix: v.say.Unit(),
				Half: true,
			},
			field{
				Name: "box-" + n, Label: "or moved to", Type: "select", Optional: true,
				Options: append(options("", "", "no move"), v.places("", incubation.Box)...),
			})
	}
	return out
}

func readPlan(a *answers) any {
	var d book.PlanData
	switch kind, id := a.pair("about"); kind {
	case "place":
		d.Place = id
	case "egg":
		d.Egg = id
	default:
		a.blame("about", "choose what the plan is for")
		return nil
	}
	d.Steps = a.planSteps()
	return d
}

// planSteps reads the changes that changeFields asks for; never nil.
func (a *answers) planSteps() []book.PlanStep {
	out := []book.PlanStep{}
	for i := range planSteps {
		n := strconv.Itoa(i + 1)
		if !a.any("at-"+n, "day-"+n, "celsius-"+n, "box-"+n) {
			continue
		}
		step := book.PlanStep{
			At: a.moment("at-" + n), Day: a.number("day-"+n, 0, 200),
			Box: a.text("box-" + n),
		}
		if !step.At.IsZero() && step.At.Before(a.now) {
			a.blame("at-"+n, "this time is over; write down what the thermostat was set to instead")
		}
		if a.any("celsius-" + n) {
			step.Celsius = a.degrees("celsius-" + n)
		}
		out = append(out, step)
	}
	return out
}
