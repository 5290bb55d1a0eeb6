package paper

import (
	"io"

	"clutchd/incubation/handout"
)

// mostPages is what a sheet may take: more is not read by somebody whose room
// it is not (judgement).
const mostPages = 2

// mostListed is how many boxes of one incubator are listed at most.
const mostListed = 60

// Sheet prints the sheet for whoever looks after the room meanwhile. A full
// room makes the type smaller, and then its list of boxes shorter.
func (Printer) Sheet(w io.Writer, s handout.Sheet) error {
	var p *page
	for _, k := range []float64{1, 0.95, 0.9, 0.85, 0.8} {
		var err error
		if p, err = sheetAt(s, k, mostListed); err != nil {
			return err
		}
		if p.PageCount() <= mostPages {
			return p.send(w)
		}
	}
	for most := mostListed / 2; p.PageCount() > mostPages && most > 0; most = most * 3 / 4 {
		var err error
		if p, err = sheetAt(s, 0.8, most); err != nil {
			return err
		}
	}
	return p.send(w)
}

// sheetAt lays the sheet out with type of a size, and so many boxes of each
// incubator.
func sheetAt(s handout.Sheet, k float64, most int) (*page, error) {
	p, err := newPage(s.Paper, s.Look, "Looking after the room", k)
	if err != nil {
		return nil, err
	}
	p.foot = joined(p.look.Site, "printed "+p.look.Date(p.look.Printed), s.URL)
	p.turn()
	p.sheetHead(s)
	p.two("Leave alone", never(), "Take care", always())
	p.say(p.small(), "Of eggs and animals: common practice, no source.")
	p.alerts(s.Alerts)
	p.rooms(s, most)
	return p, nil
}

// sheetHead is the title, whom to call, and the code of the room's page.
func (p *page) sheetHead(s handout.Sheet) {
	side := 34 * p.k
	if !p.code(s.URL, p.paper.Width-margin-side+3, margin-3, side) {
		side = 0
	}
	whole, top := p.wide, p.y
	if side > 0 {
		f := face{size: 7 * p.k, ink: soft}
		p.y = top + side - 5
		p.sayIn(f, "What it reads now:", p.paper.Width-margin-side+7, side-4)
		p.sayIn(f, s.URL, p.paper.Width-margin-side+7, side-4)
		below := p.y
		p.y, p.wide = top, p.wide-side-4
		defer func() { p.y = max(p.y, below) }()
	}
	p.say(face{bold: true, size: 20 * p.k, ink: ink}, "Looking after the room")
	p.say(p.small(), joined(p.look.Site, "as of "+p.look.Date(p.look.Printed)))
	p.heading("Whom to call", 0)
	for _, line := range s.Call {
		p.say(face{bold: true, size: 11 * p.k, ink: ink}, line)
	}
	if len(s.Call) == 0 {
		for _, who := range [...]string{"Keeper", "Vet", "Electrician"} {
			p.y += 3 * p.k
			p.say(p.small(), who)
			p.pen(soft, 0.15)
			p.Line(p.x+22*p.k, p.y-0.6, p.x+p.wide, p.y-0.6)
		}
	}
	p.wide = whole
}

// What holds in every room. Common practice, no source, but for Salmonella
// and mains, which need none.
func never() []string {
	return []string{
		"Turn no egg: the mark stays on top.",
		"Cut no shell and pull no hatchling out: it rests in its shell for a day or two.",
		"Pull no eggs apart that stick together.",
		"Throw no egg out, not for mould alone: call first.",
		"Leave thermostats as they are, unless the lines below or the keeper say otherwise.",
		"Hatched? Shut the lid again, leave it in its box, and call.",
	}
}

func always() []string {
	return []string{
		"The program only watches. Nothing can be heated or cooled from a phone.",
		"Mains heaters can burn and kill. Smoke, a smell of burning, something wet: switch off at the " +
			"breaker, then call. An over-temperature cut-out that has tripped stays off until somebody " +
			"who knows it has looked. Do no mains work.",
		"Power cut: keep incubators shut and wrap them in blankets; unwrap them when it is back.",
		"An animal strains, is weak, burnt or ill: call the vet, then the keeper.",
		"Wash your hands after every animal, egg and box: reptiles can carry Salmonella.",
	}
}

// two sets lists side by side.
func (p *page) two(left string, a []string, right string, b []string) {
	const gap = 7
	whole, x, top := p.wide, p.x, p.y
	bottom := top
	p.wide = (whole - gap) / 2
	for i, items := range [][]string{a, b} {
		p.x, p.y = x+float64(i)*(p.wide+gap), top
		p.heading([]string{left, right}[i], 0)
		for _, item := range items {
			f := p.body()
			p.write(f, p.x, p.y, "–")
			p.sayIn(f, item, p.x+3*p.k, p.wide-3*p.k)
			p.y += 0.7 * p.k
		}
		bottom = max(bottom, p.y)
	}
	p.x, p.y, p.wide = x, bottom, whole
}
