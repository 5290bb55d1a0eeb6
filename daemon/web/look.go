package web

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html/template"
	"net/http"
	"path"
	"strings"

	"clutchd/incubation"
)

// pageNames are the pages; each has its own template beside its handler.
var pageNames = [...]string{
	"room", "clutches", "clutch", "eggplan", "hindsight", "place", "alerts", "message", "alerthistory", "rules", "tune",
	"entries", "labels", "sheet", "form", "why", "review", "login", "about", "problem", "tokens", "wall", "herd", "animal",
	"settings", "help", "today", "season", "round", "roundstart", "roundend", "roundtwice", "slot",
}

// said are the sentences that pages share with everything else that tells.
var said = template.FuncMap{
	"caution": func() string { return incubation.Caution },
	"overdue": func() string { return incubation.Overdue },
}

// A look is what the pages are made of: templates and static files.
type look struct {
	pages map[string]*template.Template
	files map[string][]byte // static, by name
	small map[string][]byte // the same, packed
	stamp string            // changes whenever a static file does
}

func newLook() (*look, error) {
	l := &look{pages: map[string]*template.Template{}, files: map[string][]byte{}, small: map[string][]byte{}}
	for _, name := range pageNames {
		t, err := template.New("frame.html").Option("missingkey=error").Funcs(said).
			ParseFS(files, "frame.html", "parts.html", "svg.html", "caution.html", "bellies.html", "tiles.html",
				"topics.html", name+".html")
		if err != nil {
			return nil, fmt.Errorf("read page %s: %w", name, err)
		}
		l.pages[name] = t
	}
	entries, err := files.ReadDir("static")
	if err != nil {
		return nil, fmt.Errorf("read static files: %w", err)
	}
	sum := sha256.New()
	for _, e := range entries {
		text, err := files.ReadFile("static/" + e.Name())
		if err != nil {
			return nil, fmt.Errorf("read static file %s: %w", e.Name(), err)
		}
		l.files[e.Name()], l.small[e.Name()] = text, pack(text)
		sum.Write(text)
	}
	l.stamp = hex.EncodeToString(sum.Sum(nil))[:12]
	return l, nil
}

func (l *look) static(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	text, ok := l.files[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	kinds := map[string]string{
		".css": "text/css", ".js": "text/javascript",
		".svg": "image/svg+xml", ".txt": "text/plain",
	}
	h := w.Header()
	h.Set("Content-Type", kinds[path.Ext(name)]+"; charset=utf-8")
	if strings.TrimSpace(r.URL.Query().Get("v")) == l.stamp {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if small := l.small[name]; len(small) < len(text) && takesGzip(r.Header.Get("Accept-Encoding")) {
		h.Set("Content-Encoding", "gzip")
		text = small
	}
	h.Add("Vary", "Accept-Encoding")
	_, _ = w.Write(text)
}
