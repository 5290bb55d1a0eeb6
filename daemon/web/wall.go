package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"

	"clutchd/alerts"
	"clutchd/incubation"
)

// What fits a screen of 1920 by 1080 without scrolling, read from across the
// room: judgement, and a test in a browser.
const (
	wallPlaces = 12
	wallAlerts = 3
	wallTold   = 1 // of these in full, the others by name
	wallEggs   = 5 // fewer by one for each alert
)

// wallBody is the room on one screen.
type wallBody struct {
	Alerts     []alertLine // worst first, what nobody has seen before the rest
	MoreAlerts int
	Places     []placeLine
	MorePlaces string
	Eggs       []eggLine // the next to hatch
	MoreEggs   int
}

// wall is the room for a screen on the wall: it asks for nothing and is read
// from a distance.
func (s *Server) wall(v *visit) error {
	b := wallBody{Alerts: v.alertLines(func(a alerts.State) bool {
		return a.Told() && !shelved(a, v.snap.Time)
	}), Eggs: v.eggLines()}
	slices.SortStableFunc(b.Alerts, func(a, o alertLine) int {
		return cmp.Compare(len(a.Acknowledged), len(o.Acknowledged))
	})
	b.Alerts, b.MoreAlerts = first(b.Alerts, wallAlerts)
	for i := range b.Alerts {
		a := &b.Alerts[i]
		a.CanShelve, a.CanUnshelve = false, false
		if i >= wallTold {
			a.Text = ""
		}
	}
	b.Eggs, b.MoreEggs = first(b.Eggs, wallEggs-len(b.Alerts))
	places := v.wallPlaces()
	var left []placeLine
	if len(places) > wallPlaces {
		left = places[wallPlaces:]
	}
	b.Places, _ = first(places, wallPlaces)
	b.MorePlaces = saysLeft(left)
	return v.render("wall", frame{Title: "Wall", Nav: "wall", Wall: true, Body: b}, http.StatusOK)
}

// wallPlaces gives the places with a probe: first those that something is
// wrong with, then incubators and boxes with eggs, then the rest, each in the
// order of the room.
func (v *visit) wallPlaces() []placeLine {
	rank := map[string]int{}
	for _, p := range v.snap.Places {
		switch {
		case p.Worst == alerts.Critical:
			rank[p.ID] = 0
		case p.Worst != "":
			rank[p.ID] = 1
		case p.Kind == incubation.Incubator:
			rank[p.ID] = 2
		case len(p.Eggs) > 0:
			rank[p.ID] = 3
		default:
			rank[p.ID] = 4
		}
	}
	lines := slices.DeleteFunc(v.placeLines(), func(l placeLine) bool { return l.Bare })
	slices.SortStableFunc(lines, func(a, b placeLine) int { return cmp.Compare(rank[a.ID], rank[b.ID]) })
	return lines
}

// saysLeft tells of the places that found no room.
func saysLeft(left []placeLine) string {
	if len(left) == 0 {
		return ""
	}
	well := 0
	for _, l := range left {
		if l.State == normal {
			well++
		}
	}
	if well == len(left) {
		return fmt.Sprintf("and %d more, all normal", len(left))
	}
	return fmt.Sprintf("and %d more, %d of them normal", len(left), well)
}

// first gives at most n of a list, and how many are left out.
func first[T any](list []T, n int) ([]T, int) {
	if len(list) <= n {
		return list, 0
	}
	return list[:n], len(list) - n
}
