package web

import (
	"net/http"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

type messageBody struct {
	Sent    bool
	Reports []reportLine
}

// A reportLine is what became of a test message to one destination.
type reportLine struct {
	Destination string
	State       state
	Hops        []hopLine
}

type hopLine struct {
	Name, Why string
	Passed    bool
}

// messagePage offers to send a test message.
func (s *Server) messagePage(v *visit) error {
	return v.render("message", frame{Title: "Test message", Nav: "alerts", Body: messageBody{}}, http.StatusOK)
}

// messageForm sends one and shows each hop. Nothing is changed by it, so that
// a page that is loaded again may send another.
func (s *Server) messageForm(v *visit) error {
	b := messageBody{Sent: true}
	for _, r := range s.message(v.r) {
		line := reportLine{Destination: r.Destination, State: normal}
		if r.Arrived() {
			s.messaged.Store(true)
		} else {
			line.State = stateOf(alerts.Critical)
		}
		for _, h := range r.Hops {
			hop := hopLine{Name: h.Name, Passed: h.Err == nil}
			if h.Err != nil {
				hop.Why = h.Err.Error()
			}
			line.Hops = append(line.Hops, hop)
		}
		b.Reports = append(b.Reports, line)
	}
	return v.render("message", frame{Title: "Test message", Nav: "alerts", Body: b}, http.StatusOK)
}

func (s *Server) message(r *http.Request) []alerts.Report {
	if s.o.Message == nil {
		return nil
	}
	return s.o.Message(r.Context())
}

func (s *Server) apiMessage(_ *monitor.Snapshot, r *http.Request) (any, error) {
	return some(s.message(r)), nil
}
