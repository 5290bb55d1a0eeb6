package web

import (
	"bytes"
	"fmt"
	"html/template"
	"io"

	"clutchd/incubation/review"
)

// reportFrame is what a report holds around the page: its style, and nothing
// that would have to be fetched.
type reportFrame struct {
	Title string
	Style template.CSS
	Body  reviewBody
}

// WriteReport writes a review as one HTML file that needs no other: the same
// page as /clutches/{id}/review. fahrenheit tells temperatures in °F. The
// error is that of w, or of a zone that this machine does not know.
func WriteReport(w io.Writer, r review.Review, fahrenheit bool) error {
	say, err := reviewWords(r, fahrenheit)
	if err != nil {
		return err
	}
	t, err := template.New("report.html").Option("missingkey=error").Funcs(said).
		ParseFS(files, "report.html", "svg.html", "review.html")
	if err != nil {
		return fmt.Errorf("read the report's template: %w", err)
	}
	f := reportFrame{Body: say.reviewBody(r)}
	f.Title = f.Body.Title
	for _, name := range []string{"style.css", "review.css"} {
		text, err := files.ReadFile("static/" + name)
		if err != nil {
			return fmt.Errorf("read the report's style: %w", err)
		}
		f.Style += template.CSS(text)
	}
	var out bytes.Buffer
	if err := t.Execute(&out, f); err != nil {
		return fmt.Errorf("make the report: %w", err)
	}
	if _, err := out.WriteTo(w); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	return nil
}
