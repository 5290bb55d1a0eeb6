package command

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"iter"
	"maps"
	"net/url"
	"os"
	"slices"
	"strings"
	"time"

	"golang.org/x/term"

	"clutchd/daemon/paper"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/handout"
	"clutchd/incubation/review"
	"clutchd/incubation/species"
)

const reportUsage = "report [-config FILE] [-data DIR] [-format html|pdf|csv|json] [-paper A4|Letter] CLUTCH"

// Report writes a clutch's review to Stdout: as the running daemon has it, or
// from the folder that one left.
func Report(ctx context.Context, c Call) error {
	var at where
	format, sheet := "html", "A4"
	clutch, err := c.one(reportUsage, func(s *flag.FlagSet) {
		at.define(s)
		s.StringVar(&format, "format", format, "`FORMAT`: html, pdf, csv (every reading) or json")
		s.StringVar(&sheet, "paper", sheet, "of a PDF: `A4 or Letter`")
	})
	if err != nil {
		return err
	}
	onto, known := handout.PaperNamed(sheet)
	switch {
	case !slices.Contains([]string{"html", "pdf", "csv", "json"}, format):
		return &WrongCall{fmt.Sprintf("-format %.20q is not one of html, pdf, csv and json", format), "usage: clutchd " + reportUsage}
	case !known:
		return &WrongCall{fmt.Sprintf("-paper %.20q is neither A4 nor Letter", sheet), "usage: clutchd " + reportUsage}
	case format == "pdf" && onTerminal(c.Stdout):
		return hint(fmt.Errorf("a PDF is nothing for a terminal"), "send it to a file: clutchd report -format pdf "+clutch+" > "+clutch+".pdf")
	}
	room, err := at.openExisting(ctx)
	if err != nil {
		return err
	}
	defer room.close()
	r, err := at.review(ctx, room, clutch)
	if err != nil {
		return err
	}
	return written{room, r, format, at.fahrenheit(), onto}.to(ctx, c.Stdout)
}

// written is a review on its way out.
type written struct {
	room       room
	review     review.Review
	format     string
	fahrenheit bool
	paper      handout.Paper
}

// to writes whole or, but for readings, which may be many, not at all.
func (w written) to(ctx context.Context, to io.Writer) error {
	if w.format == "csv" {
		return review.WriteCSV(to, w.review, readingsOf(ctx, w.room))
	}
	var out bytes.Buffer
	var err error
	switch w.format {
	case "json":
		e := json.NewEncoder(&out)
		e.SetIndent("", "  ")
		err = e.Encode(w.review)
	case "pdf":
		err = w.pdf(&out)
	default:
		err = web.WriteReport(&out, w.review, w.fahrenheit)
	}
	if err != nil {
		return err
	}
	if _, err := out.WriteTo(to); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	return nil
}

func (w written) pdf(to io.Writer) error {
	look := handout.Look{Fahrenheit: w.fahrenheit, Printed: time.Now()}
	told, err := web.Handout(w.review, look, w.paper)
	if err != nil {
		return err
	}
	return paper.Printer{}.Review(to, told)
}

func onTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// fahrenheit reports whether the room's config has temperatures told in °F.
func (w *where) fahrenheit() bool {
	cfg, err := loadConfig(w.config)
	return err == nil && cfg.Unit == "F"
}

// review asks the running daemon, or makes it from the files.
func (w *where) review(ctx context.Context, from room, clutch string) (review.Review, error) {
	entries, err := from.entries(ctx)
	if err != nil {
		return review.Review{}, err
	}
	b := book.Fold(entries)
	if b.Clutches[clutch] == nil {
		return review.Review{}, hint(fmt.Errorf("the book has no clutch %q", clutch), clutchesOf(b))
	}
	if r, ok := from.(running); ok {
		var out review.Review
		err := r.get(ctx, "/review?"+url.Values{"clutch": {clutch}}.Encode(), &out)
		return out, err
	}
	a := review.Asked{
		Book: b, Clutch: clutch, Now: time.Now().UTC(), Zone: w.zone(entries), Rules: web.EggRules(),
		Readings: readingsOf(ctx, from), Course: true, Species: species.Leopard().Species,
		Notes: []string{"Made from the files, with no program running: gaps are filled without what the rest of the " +
			"room tells of them, and how accurate its maker says a probe is is not known."},
	}
	ensemble := species.Ensemble(members)
	a.Track = func(egg string) *incubation.Track { return a.Replay(egg, ensemble) }
	r, err := review.Of(a)
	if ctx.Err() != nil {
		return review.Review{}, ctx.Err()
	}
	return r, err
}

// clutchesOf names clutches that are in the book, the newest first.
func clutchesOf(b *book.State) string {
	ids := slices.SortedFunc(maps.Keys(b.Clutches), func(x, y string) int {
		return b.Clutches[y].Laid.To.Compare(b.Clutches[x].Laid.To)
	})
	switch {
	case len(ids) == 0:
		return "no clutch has been written down there yet"
	case len(ids) > 8:
		return fmt.Sprintf("name one of %s, or one of %d before them", strings.Join(ids[:8], ", "), len(ids)-8)
	}
	return "name one of " + strings.Join(ids, ", ")
}

// zone is the room's: as the config says, else as the newest entry was made in.
func (w *where) zone(entries []book.Entry) *time.Location {
	if cfg, err := loadConfig(w.config); err == nil && cfg.Zone != "" {
		if zone, err := cfg.Location(); err == nil {
			return zone
		}
	}
	for _, e := range slices.Backward(entries) {
		if zone, err := time.LoadLocation(e.Zone); err == nil && e.Zone != "" {
			return zone
		}
	}
	return time.UTC
}

// readingsOf gives a room's readings as a review reads them. Once ctx ends
// nothing more comes.
func readingsOf(ctx context.Context, r room) review.Readings {
	return func(probe string, from, to time.Time) iter.Seq2[incubation.Reading, error] {
		return func(yield func(incubation.Reading, error) bool) {
			for reading, err := range r.readings(ctx, probe, span{from, to}) {
				if ctx.Err() != nil || !yield(reading, err) {
					return
				}
			}
		}
	}
}
