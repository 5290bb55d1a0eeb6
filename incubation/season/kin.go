package season

import (
	"fmt"
	"math"
	"strings"

	"clutchd/incubation"
)

// closeKin is from which relationship on a pairing is warned of: cousins.
// Judgement.
const closeKin = 0.125

// A pedigree holds what was worked out of kinship coefficients: the chance
// that a gene drawn from each of two animals comes from one forebear (Wright
// 1922; here by parents, as in the tabular method).
type pedigree struct {
	animals map[string]*incubation.Animal
	depths  map[string]int
	known   map[[2]string]float64
}

func (h *Herd) pedigree() *pedigree {
	return &pedigree{h.state.Animals, map[string]int{}, map[[2]string]float64{}}
}

// depth is how many generations of known forebears an animal has: a parent has
// fewer than its child. The book lets none descend from itself.
func (p *pedigree) depth(id string) int {
	a := p.animals[id]
	if a == nil {
		return 0
	}
	if d, ok := p.depths[id]; ok {
		return d
	}
	p.depths[id] = 0
	p.depths[id] = 1 + max(p.depth(a.Dam), p.depth(a.Sire))
	return p.depths[id]
}

// kinship is the coefficient of two animals. One that the book does not know
// is nobody's kin.
func (p *pedigree) kinship(a, b string) float64 {
	if p.animals[a] == nil || p.animals[b] == nil {
		return 0
	}
	if p.depth(a) < p.depth(b) || p.depth(a) == p.depth(b) && a < b {
		a, b = b, a
	}
	key := [2]string{a, b}
	if k, ok := p.known[key]; ok {
		return k
	}
	p.known[key] = 0 // ends a circle, should a book ever hold one
	dam, sire := p.animals[a].Dam, p.animals[a].Sire
	k := 0.0
	if a == b {
		k = 0.5 * (1 + p.kinship(dam, sire))
	} else {
		k = 0.5 * (p.kinship(dam, b) + p.kinship(sire, b))
	}
	p.known[key] = k
	return k
}

// inbreeding is the animal's own.
func (p *pedigree) inbreeding(id string) float64 {
	if a := p.animals[id]; a != nil {
		return p.kinship(a.Dam, a.Sire)
	}
	return 0
}

// relationship is Wright's coefficient.
func (p *pedigree) relationship(a, b string) float64 {
	return 2 * p.kinship(a, b) / math.Sqrt((1+p.inbreeding(a))*(1+p.inbreeding(b)))
}

// unknown counts the forebears that are missing, up to the grandparents: two
// parents and four grandparents at most.
func (p *pedigree) unknown(id string) int {
	a, n := p.animals[id], 0
	if a == nil {
		return 6
	}
	for _, parent := range []string{a.Dam, a.Sire} {
		q := p.animals[parent]
		switch {
		case q == nil:
			n += 3
		default:
			for _, g := range []string{q.Dam, q.Sire} {
				if p.animals[g] == nil {
					n++
				}
			}
		}
	}
	return n
}

// Kin gives how two animals are related.
func (h *Herd) Kin(a, b string) Kinship { return h.kin(h.pedigree(), a, b) }

func (h *Herd) kin(p *pedigree, a, b string) Kinship {
	k := Kinship{
		A: a, B: b, Relationship: p.relationship(a, b), Inbreeding: p.kinship(a, b),
		Unknown: p.unknown(a) + p.unknown(b),
	}
	k.Close = k.Relationship >= closeKin-1e-9
	k.Says = h.kinWords(p, k)
	return k
}

// kinWords says how two are related, and what is not known.
func (h *Herd) kinWords(p *pedigree, k Kinship) string {
	var nobody []string
	for _, id := range []string{k.A, k.B} {
		if a := p.animals[id]; a == nil || a.Dam == "" && a.Sire == "" {
			nobody = append(nobody, h.state.Name(id))
		}
	}
	figure := strings.TrimRight(fmt.Sprintf("%.3f", k.Relationship), "0")
	says := "no kinship is known"
	switch name := p.relation(k.A, k.B); {
	case k.Relationship <= 0:
	case name != "":
		says = fmt.Sprintf("%s (%s)", name, figure)
	case k.Close:
		says = fmt.Sprintf("close kin (%s)", figure)
	default:
		says = fmt.Sprintf("distant kin (%s)", figure)
	}
	switch {
	case len(nobody) > 0:
		says += fmt.Sprintf("; no parents of %s are in the book", list(nobody))
	case k.Unknown > 0:
		says += fmt.Sprintf("; %s not in the book", count(k.Unknown, "forebear is", "forebears are"))
	}
	return says
}

// relation names the simplest ties.
func (p *pedigree) relation(a, b string) string {
	x, y := p.animals[a], p.animals[b]
	if x == nil || y == nil {
		return ""
	}
	dam, sire := x.Dam != "" && x.Dam == y.Dam, x.Sire != "" && x.Sire == y.Sire
	switch {
	case y.Dam == a || y.Sire == a || x.Dam == b || x.Sire == b:
		return "parent and child"
	case dam && sire:
		return "full siblings"
	case dam || sire:
		return "half siblings"
	case p.grandparent(a, b) || p.grandparent(b, a):
		return "grandparent and grandchild"
	}
	return ""
}

func (p *pedigree) grandparent(old, young string) bool {
	a := p.animals[young]
	for _, id := range []string{a.Dam, a.Sire} {
		if q := p.animals[id]; q != nil && (q.Dam == old || q.Sire == old) {
			return true
		}
	}
	return false
}
