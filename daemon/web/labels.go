package web

import (
	"cmp"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"clutchd/daemon/monitor"
	"clutchd/incubation/handout"
)

// maxShift is how far a printer may draw its paper in askew, mm (judgement).
const maxShift = 10

type labelsBody struct {
	Error      string
	Boxes      []labelChoice
	Slots      []labelChoice
	Sheet      []field
	Shift      []field
	Cut, Shown bool // cut marks; the shift is set
	Waits      bool // an estimate is still being worked out
}

// A labelChoice is a box or a slot that a label can be printed for.
type labelChoice struct {
	ID, Name, About string
	Chosen          bool
}

// labels offers what labels can be printed for.
func (s *Server) labels(v *visit) error { return v.showLabels(nil) }

// showLabels shows the page as it was filled in, or for the sheet that was
// printed on last.
func (v *visit) showLabels(wrong *problem) error {
	q, last := v.r.URL.Query(), v.lastSheet()
	b := labelsBody{Cut: last.cut && !q.Has("sheet") || q.Has("cut")}
	b.Sheet = []field{
		stockField(cmp.Or(q.Get("sheet"), last.stock.Name)),
		{
			Name: "first", Label: "Begin at label", Value: cmp.Or(q.Get("first"), strconv.Itoa(last.next)),
			Mode: "numeric", Hint: "Counted along the rows, for a sheet that was begun before.",
		},
		addressField(cmp.Or(q.Get("address"), v.address())),
	}
	for _, f := range [][2]string{{"right", "Further right"}, {"down", "Further down"}} {
		b.Shift = append(b.Shift, field{
			Name: f[0], Label: f[1], Value: q.Get(f[0]), Suffix: "mm", Mode: "text", Half: true, Optional: true,
		})
		b.Shown = b.Shown || q.Get(f[0]) != ""
	}
	for _, c := range v.snap.Clutches {
		b.Waits = b.Waits || slices.ContainsFunc(c.Eggs, func(e monitor.EggNow) bool { return e.Computing })
	}
	for _, l := range v.boxLabels() {
		b.Boxes = append(b.Boxes, labelChoice{
			ID: l.egg, Name: cmp.Or(l.box.Dam, l.box.Clutch), Chosen: l.chosen(q),
			About: strings.Join(kept(clutchTitle(l.clutch)+" "+strings.Join(l.box.Eggs, " "), l.box.In), " · "),
		})
	}
	for _, p := range v.slots() {
		b.Slots = append(b.Slots, labelChoice{
			ID: p.ID, Name: p.Name, About: rackSays(p.Place), Chosen: chosen(q, "slot", p.ID),
		})
	}
	code := http.StatusOK
	if wrong != nil {
		b.Error, code = wrong.Text, http.StatusUnprocessableEntity
		b.Sheet, b.Shift = marked(b.Sheet, wrong), marked(b.Shift, wrong)
	}
	return v.render("labels", frame{Title: "Labels", Nav: "clutches", Body: b}, code)
}

// marked shows a problem at its field.
func marked(fields []field, wrong *problem) []field {
	for i := range fields {
		if fields[i].Name == wrong.Field {
			fields[i].Error = wrong.Text
		}
	}
	return fields
}

// kept leaves out what is empty.
func kept(parts ...string) []string {
	return slices.DeleteFunc(parts, func(s string) bool { return strings.TrimSpace(s) == "" })
}

func chosen(q url.Values, name, id string) bool {
	return slices.Contains(q[name], id) || slices.Contains(q["all"], name)
}

func stockField(name string) field {
	f := field{
		Name: "sheet", Label: "Sheet of labels", Type: "select",
		Hint: "Sizes are common ones, from memory. Print on plain paper first and hold it against your sheet.",
	}
	for _, s := range handout.Stocks() {
		f.Options = append(f.Options, option{s.Name, s.Says(), s.Name == name})
	}
	return f
}

// labelsPDF prints the labels that were chosen.
func (s *Server) labelsPDF(v *visit) error {
	l, wrong := v.readLabels(v.r.URL.Query())
	if wrong != nil {
		return v.showLabels(wrong)
	}
	v.keepSheet(l)
	return v.send("labels", func(w io.Writer) error { return s.o.Press.Labels(w, l) })
}

// clutchLabel prints a clutch's labels, one for each box that it lies in, onto
// the sheet that was printed on last.
func (s *Server) clutchLabel(v *visit) error {
	id := v.r.PathValue("id")
	if clutchOf(v.snap, id) == nil {
		return missing{"clutch " + id}
	}
	q := v.r.URL.Query()
	q.Set("clutch", id)
	last := v.lastSheet()
	q.Set("sheet", cmp.Or(q.Get("sheet"), last.stock.Name))
	q.Set("first", cmp.Or(q.Get("first"), strconv.Itoa(last.next)))
	q.Set("address", cmp.Or(q.Get("address"), v.address()))
	l, wrong := v.readLabels(q)
	if wrong != nil {
		return v.showLabels(wrong)
	}
	v.keepSheet(l)
	return v.send("label", func(w io.Writer) error { return s.o.Press.Labels(w, l) })
}

// readLabels makes an order of what was chosen, or says what is wrong with it.
func (v *visit) readLabels(q url.Values) (handout.Labels, *problem) {
	l := handout.Labels{Look: v.paperLook(), CutMarks: q.Has("cut")}
	stock, ok := handout.StockNamed(q.Get("sheet"))
	if !ok {
		return l, &problem{"sheet", "Choose a sheet of labels."}
	}
	base, ok := readAddress(q.Get("address"))
	if !ok {
		return l, &problem{"address", "Write the address as http://192.168.1.20:8080."}
	}
	a := &answers{values: q, say: v.say}
	l.Stock = stock
	l.First = a.count("first", 1, stock.PerSheet())
	l.Right, l.Down = a.number("right", -maxShift, maxShift), a.number("down", -maxShift, maxShift)
	if a.wrong != nil {
		return l, a.wrong
	}
	for _, b := range v.boxLabels() {
		if b.chosen(q) {
			b.box.URL = base + "/clutches/" + url.PathEscape(b.clutch)
			l.Boxes = append(l.Boxes, b.box)
		}
	}
	for _, p := range v.slots() {
		if chosen(q, "slot", p.ID) {
			l.Slots = append(l.Slots, handout.Slot{
				Name: p.Name, Rack: rackSays(p.Place), URL: base + "/slots/" + url.PathEscape(p.ID),
			})
		}
	}
	if len(l.Boxes)+len(l.Slots) == 0 {
		return l, &problem{"", "Choose at least one label."}
	}
	return l, nil
}
