package command

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/species"
	"clutchd/sensors/logger"
)

const estimateUsage = "estimate [-laid TIME] [-eggs N] [-profile FILE] [-accuracy K] " +
	"[-position substrate|box-air|incubator-air] [-hold C] [-unhatched] [-json] FILE.csv"

// members is the size of the ensemble an estimate is made under.
const members = 1000

type estimateFlags struct {
	laid, profile, position, unit string
	eggs                          int
	accuracy, hold                float64
	unhatched, json               bool
}

// Estimate says what a logger's record tells of the eggs that lay beside it,
// without a daemon. Now is the record's last row.
func Estimate(c Call) error {
	var f estimateFlags
	args, err := c.flags(estimateUsage, func(s *flag.FlagSet) {
		s.StringVar(&f.laid, "laid", "", "when the eggs were laid: a time, a date, or FROM/TO (default the first row)")
		s.IntVar(&f.eggs, "eggs", 2, "eggs in the clutch")
		s.StringVar(&f.profile, "profile", "", "species profile (default leopard gecko)")
		s.Float64Var(&f.accuracy, "accuracy", 0.2, "the probe's accuracy, K")
		s.StringVar(&f.position, "position", string(incubation.Substrate), "where the probe lay: substrate, box-air or incubator-air")
		s.StringVar(&f.unit, "unit", "", "C or F, where the file does not tell")
		s.Float64Var(&f.hold, "hold", 0, "temperature from now on, C (default as in the last day)")
		s.BoolVar(&f.unhatched, "unhatched", false, "the eggs were seen alive and not hatched now")
		s.BoolVar(&f.json, "json", false, "print JSON")
	})
	if err != nil {
		return err
	}
	if err := f.check(args); err != nil {
		return err
	}
	return f.run(c, args[0])
}

func (f estimateFlags) check(args []string) error {
	wrong := func(format string, a ...any) error {
		return &WrongCall{What: fmt.Sprintf(format, a...), Hint: "usage: clutchd " + estimateUsage}
	}
	switch {
	case len(args) != 1:
		return wrong("estimate takes one file, not %d", len(args))
	case f.eggs < 1 || f.eggs > 20:
		return wrong("-eggs %d: between 1 and 20", f.eggs)
	case !(f.accuracy >= 0 && f.accuracy <= 5):
		return wrong("-accuracy %g: between 0 and 5 K", f.accuracy)
	case incubation.Position(f.position).Rank() > incubation.IncubatorAir.Rank():
		return wrong("-position %q: substrate, box-air or incubator-air", f.position)
	case f.hold != 0 && !(f.hold >= 10 && f.hold <= 45):
		return wrong("-hold %g: between 10 and 45 °C", f.hold)
	case f.unit != "" && f.unit != "C" && f.unit != "F":
		return wrong("-unit %q: C or F", f.unit)
	}
	return nil
}

func (f estimateFlags) run(c Call, file string) error {
	profile, err := loadProfile(f.profile)
	if err != nil {
		return err
	}
	laid, err := ParseLaid(f.laid)
	if err != nil {
		return err
	}
	log, err := readLog(file, logger.Options{Start: laid.From, Unit: f.unit, Probe: "record"})
	if err != nil {
		return err
	}
	first, last := log.Readings[0].Time, log.Readings[len(log.Readings)-1].Time
	if laid.From.IsZero() {
		laid = incubation.Laying{From: first, To: first}
	}
	if laid.From.After(last) {
		return hinted(fmt.Errorf("estimate %s: laid %s, after the record's last row %s", file,
			laid.From.Format(time.RFC3339), last.Format(time.RFC3339)), "give -laid as the time the eggs were laid")
	}
	track := incubation.NewTrack(incubation.Draw(profile, members), laid)
	f.replay(track, log.Readings)
	q := incubation.Question{Now: last, Unhatched: f.unhatched, AliveAt: last, Holds: true}
	if !f.unhatched {
		q.AliveAt = time.Time{}
	}
	if f.hold != 0 {
		q.Plan = []incubation.Step{{From: last, Celsius: incubation.Celsius(f.hold)}}
	}
	r := result{Estimate: track.Estimate(q)}
	eggs := make([]incubation.EggQuestion, f.eggs)
	for i := range eggs {
		eggs[i] = incubation.EggQuestion{Track: track, Question: q}
	}
	r.Males = incubation.Males(eggs)
	if f.json {
		e := json.NewEncoder(c.Stdout)
		e.SetIndent("", "  ")
		return e.Encode(r)
	}
	r.print(c, log, laid)
	return nil
}

// replay folds the readings into the track as the daemon folds its own.
func (f estimateFlags) replay(track *incubation.Track, readings []incubation.Reading) {
	var aligner incubation.Aligner
	add := func(b incubation.Block) {
		b.Position, b.Accuracy = incubation.Position(f.position), f.accuracy
		_ = track.Add(b) // refused only backwards, and the log is in order
	}
	for _, r := range readings {
		if b, ok := aligner.Add(r); ok {
			add(b)
		}
	}
	if b, ok := aligner.Close(readings[len(readings)-1].Time.Add(incubation.BlockLength)); ok {
		add(b)
	}
}

type result struct {
	incubation.Estimate
	Males []float64 `json:"males"`
}

func (r result) print(c Call, log logger.Log, laid incubation.Laying) {
	p := func(format string, a ...any) { fmt.Fprintf(c.Stdout, format+"\n", a...) }
	day := func(t time.Time) string { return t.Format("2006-01-02") }
	first, last := log.Readings[0].Time, log.Readings[len(log.Readings)-1].Time
	p("record       %d readings, %s to %s, one every %s", len(log.Readings),
		first.Format("2006-01-02 15:04"), last.Format("2006-01-02 15:04"), log.Interval)
	for _, note := range log.Notes {
		p("             %s", note)
	}
	p("laid         %s to %s", laid.From.Format("2006-01-02 15:04"), laid.To.Format("2006-01-02 15:04"))
	p("development  %.0f %% (%.0f to %.0f)", 100*r.Development.Fraction, 100*r.Development.Low, 100*r.Development.High)
	p("TSP          %s, %.0f %% done; %s to %s", r.TSP.State, 100*r.TSP.Done, day(r.TSP.Opens), day(r.TSP.Closes))
	if r.CTE != nil {
		p("CTE          %.2f °C (%.2f to %.2f)", r.CTE.Value, r.CTE.Low, r.CTE.High)
	}
	p("male         %.0f %% (%.0f to %.0f): %s", 100*r.Sex.MaleProbability, 100*r.Sex.Low, 100*r.Sex.High, r.Sex.Words)
	var chances []string
	for k, chance := range r.Males {
		chances = append(chances, fmt.Sprintf("%d: %.0f %%", k, 100*chance))
	}
	p("males        %s", strings.Join(chances, ", "))
	p("hatch        %s, likely between %s and %s (%.0f %%)", day(r.Hatch.Likely), day(r.Hatch.Earliest),
		day(r.Hatch.Latest), 100*r.Hatch.Probability)
	p("rests on     %.0f %% measured, %.0f %% filled gaps, %.0f %% still to come (of the TSP)",
		100*r.Basis.Measured, 100*r.Basis.Gap, 100*r.Basis.Projected)
}

func loadProfile(file string) (incubation.Profile, error) {
	if file == "" {
		return species.Leopard(), nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return incubation.Profile{}, hinted(fmt.Errorf("read the profile: %w", err), "give -profile a file like those in incubation/species")
	}
	p, err := species.Parse(text)
	if err != nil {
		return incubation.Profile{}, fmt.Errorf("profile %s: %w", file, err)
	}
	return p, nil
}

func readLog(file string, o logger.Options) (logger.Log, error) {
	f, err := os.Open(file)
	if err != nil {
		return logger.Log{}, hinted(err, "give a CSV file of times and temperatures")
	}
	defer f.Close()
	log, err := logger.Read(f, o)
	if err != nil {
		return logger.Log{}, fmt.Errorf("%s: %w", file, err)
	}
	return log, nil
}

// ParseLaid reads a laying time: one time, one date (any time of that day), or
// two of them as FROM/TO. Without a zone it is UTC. "" is the zero laying.
func ParseLaid(text string) (incubation.Laying, error) {
	if text == "" {
		return incubation.Laying{}, nil
	}
	from, to, both := strings.Cut(text, "/")
	a, b, err := parseWhen(from)
	if err == nil && both {
		_, b, err = parseWhen(to)
	}
	if err != nil || b.Before(a) {
		return incubation.Laying{}, &WrongCall{
			What: fmt.Sprintf("-laid %q is not a time, a date, or FROM/TO", text),
			Hint: "such as 2026-03-01, 2026-03-01T20:00:00Z or 2026-03-01T08:00:00Z/2026-03-01T20:00:00Z",
		}
	}
	return incubation.Laying{From: a, To: b}, nil
}

// parseWhen reads a time, or a date as its whole day.
func parseWhen(text string) (from, to time.Time, err error) {
	if t, err := time.Parse(time.DateOnly, text); err == nil {
		return t, t.Add(24 * time.Hour), nil
	}
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t.UTC(), t.UTC(), nil
		}
	}
	return time.Time{}, time.Time{}, fmt.Errorf("parse time %q: unknown form", text)
}
