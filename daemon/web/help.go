package web

import (
	"net/http"
	"slices"

	"clutchd/incubation/season"
)

// A topic is one page of help.
type topic struct{ Key, Title, About string }

// topics are all of them, in the order of a season.
func topics() []topic {
	return []topic{
		{"start", "From no probes to the first eggs in a box", "What is set up in which order, and why."},
		{"belly", "Checking a belly", "What shows through the skin, and what is a vet’s matter."},
		{"pairing", "Pairing", "When she takes a male, what speaks against it, stored sperm."},
		{"eggs", "Eggs: marking, not turning, candling", "From the lay box to the first shed."},
		{"power", "When the power is cut", "What is told, what is not, and what to do first."},
		{"estimate", "Reading the estimate", "What likely and not sure mean, and what would narrow it."},
		{"alerts", "Alerts", "Which there are, what acknowledging and shelving do."},
		{"words", "Words", "Every word that the pages use."},
	}
}

type helpBody struct {
	Topic  topic // its Key is "" on the list of all
	Topics []topic
	Words  []term
	// Differ is where practice and paper do not say the same, Receptive what the
	// paper says, Starting the values that hold until the own dates are enough.
	Differ    []season.Difference
	Receptive []receptiveLine
	Source    string
	Starting  []assumedFact
}

// A receptiveLine is the published share of receptive females at a stage.
type receptiveLine struct{ Stage, Paper, Share string }

// practice fills in what the season's thinking starts from.
func (b *helpBody) practice() {
	b.Differ, b.Source = season.Differences(), season.RhenSource
	for _, r := range season.Receptivity() {
		stage := stageWord(r.Stage)
		if r.Size != "" {
			stage += ", " + r.Size
		}
		b.Receptive = append(b.Receptive, receptiveLine{capital(stage), r.Paper, percent(r.Share)})
	}
	b.Starting = assumedFacts(season.IncubationDays, season.HatchShare, season.CandleFrom, season.CandleAgain,
		season.AirEvery, season.WeighBoxEvery) // of eggs, not of bellies
}

func (s *Server) help(v *visit) error {
	b := helpBody{Topics: topics()}
	key := v.r.PathValue("topic")
	if key == "" {
		return v.render("help", frame{Title: "Help", Nav: "help", Body: b}, http.StatusOK)
	}
	i := slices.IndexFunc(b.Topics, func(t topic) bool { return t.Key == key })
	if i < 0 {
		return missing{"help about " + key}
	}
	b.Topic = b.Topics[i]
	switch key {
	case "words":
		b.Words = glossary()
	case "belly", "pairing":
		b.practice()
	}
	return v.render("help", frame{Title: b.Topic.Title, Nav: "help", Body: b}, http.StatusOK)
}
