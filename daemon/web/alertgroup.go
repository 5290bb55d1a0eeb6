package web

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

const (
	// groupFrom is how many alerts of one rule become one card: more than that
	// are a wall in which the one that matters is not seen. Judgement.
	groupFrom = 4
	// groupNames is how many of them the card names.
	groupNames = 6
	// seenMost is how many are acknowledged by one tap.
	seenMost = 500
)

// An alertGroup is one alert, or several of one rule that are as severe.
type alertGroup struct {
	alertLine // the only one, or the worst of them
	Lines     []alertLine
	Many      bool
	Names     string
	Unseen    []alertLine
}

// groups puts what is told in the order that it is to be looked at, and many
// of a kind together.
func groups(lines []alertLine) []alertGroup {
	slices.SortStableFunc(lines, func(a, b alertLine) int {
		return cmp.Or(-cmp.Compare(loudness(a.severity), loudness(b.severity)),
			cmp.Compare(min(1, len(a.Acknowledged)), min(1, len(b.Acknowledged))))
	})
	return groupsOf(lines)
}

func groupsOf(lines []alertLine) []alertGroup {
	type kind struct {
		rule     string
		severity alerts.Severity
		seen     bool
	}
	of := func(l alertLine) kind { return kind{l.rule, l.severity, l.Acknowledged != ""} }
	many := map[kind][]alertLine{}
	for _, l := range lines {
		many[of(l)] = append(many[of(l)], l)
	}
	var out []alertGroup
	for _, l := range lines {
		all := many[of(l)]
		switch {
		case len(all) < groupFrom:
			out = append(out, alertGroup{alertLine: l})
		case all[0].ID == l.ID:
			out = append(out, groupOf(all))
		}
	}
	return out
}

func groupOf(lines []alertLine) alertGroup {
	g := alertGroup{alertLine: lines[0], Lines: lines, Many: true}
	var names []string
	for _, l := range lines {
		if l.CanAcknowledge {
			g.Unseen = append(g.Unseen, l)
		}
		if len(names) < groupNames {
			names = append(names, l.Where)
		}
	}
	if more := len(lines) - len(names); more > 0 {
		names = append(names, several(more, "more", "more"))
	}
	g.Names = strings.Join(names, " · ")
	return g
}

// loudness orders severities, mildest first.
func loudness(s alerts.Severity) int {
	return slices.Index([]alerts.Severity{alerts.Info, alerts.Warning, alerts.Critical}, s)
}

// acknowledgeMany says that a person has seen several alerts, each by its
// occurrence. What has ended or was raised anew meanwhile stays as it is.
func (s *Server) acknowledgeMany(v *visit) error {
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	all := v.r.PostForm["seen"]
	if len(all) == 0 || len(all) > seenMost {
		return v.showAlerts("Nothing was acknowledged: open this page again and try once more.",
			http.StatusUnprocessableEntity)
	}
	late, because := 0, ""
	for _, one := range all {
		alert, occurrence, _ := strings.Cut(one, " ")
		_, err := s.do(v.r.Context(), monitor.Change{Acknowledge: &monitor.Acknowledge{
			Alert: alert, Occurrence: occurrence, By: who,
		}})
		if err == nil {
			continue
		}
		p, code := s.why(err)
		if code != http.StatusUnprocessableEntity {
			return v.showAlerts(capital(p.Text)+".", code)
		}
		late, because = late+1, p.Text
	}
	if late == len(all) {
		return v.showAlerts("Nothing was acknowledged: "+because+".", http.StatusUnprocessableEntity)
	}
	http.Redirect(v.w, v.r, localPath(v.r.PostFormValue("back")), http.StatusSeeOther)
	return nil
}
