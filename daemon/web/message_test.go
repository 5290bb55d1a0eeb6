package web_test

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"clutchd/alerts"
	"clutchd/daemon/web"
)

// halfReached is a test message of which one destination got nothing.
func halfReached(sent *int) func(context.Context) []alerts.Report {
	return func(context.Context) []alerts.Report {
		*sent++
		return []alerts.Report{
			{Destination: "mqtt:house", Hops: []alerts.Hop{{Name: "connect to mqtt://house.example"}}},
			{Destination: "webhook:phone", Hops: []alerts.Hop{
				{Name: "write the message"}, {Name: "look up push.example", Err: errors.New("no <b>address</b>")},
			}},
		}
	}
}

func TestMessage(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		sent := 0
		s := open(t, func(o *web.Options) { o.Message = halfReached(&sent) })
		if page := s.ask("GET", "/alerts/message", "").Body.String(); sent != 0 ||
			!strings.Contains(page, `<form method="post" action="/alerts/message">`) {
			t.Errorf("looking at the page sent %d messages, and showed\n%s", sent, page)
		}
		if page := s.ask("GET", "/alerts", "").Body.String(); !strings.Contains(page, `href="/alerts/message"`) {
			t.Error("the alerts page does not lead there")
		}
		w := s.ask("POST", "/alerts/message", "")
		page := w.Body.String()
		for _, want := range []string{
			"<h2><i class=\"shape\"></i>mqtt:house</h2>", "connect to mqtt://house.example: passed",
			"look up push.example: <strong>no &lt;b&gt;address&lt;/b&gt;</strong>", `data-state="danger"`,
		} {
			if !strings.Contains(page, want) {
				t.Errorf("the report lacks %s:\n%s", want, page)
			}
		}
		if sent != 1 || w.Code != http.StatusOK {
			t.Errorf("%d messages sent, answer %d", sent, w.Code)
		}
	})
}

func TestMessageToNobody(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		if page := s.ask("POST", "/alerts/message", "").Body.String(); !strings.Contains(page, "There is nobody to send it to") {
			t.Errorf("with no destination the page says\n%s", page)
		}
		if text := s.ask("POST", "/api/message", "").Body.String(); text != "[]\n" {
			t.Errorf("with no destination the API says %q", text)
		}
	})
}

func TestMessageByProgram(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		sent := 0
		s := open(t, func(o *web.Options) { o.Message = halfReached(&sent) })
		w := s.ask("POST", "/api/message", "")
		const want = `[{"destination":"mqtt:house","hops":[{"name":"connect to mqtt://house.example","passed":true}]},` +
			`{"destination":"webhook:phone","hops":[{"name":"write the message","passed":true},` +
			`{"name":"look up push.example","passed":false,"why":"no \u003cb\u003eaddress\u003c/b\u003e"}]}]` + "\n"
		if w.Code != http.StatusOK || w.Body.String() != want || sent != 1 {
			t.Errorf("%d: %s, want %s", w.Code, w.Body, want)
		}
		_, compiler := readOpenAPI(t, s)
		schema, err := compiler.Compile("openapi.json#/paths/~1api~1message/post/responses/200/content/application~1json/schema")
		if err != nil {
			t.Fatal(err)
		}
		body, err := jsonschema.UnmarshalJSON(strings.NewReader(want))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(body); err != nil {
			t.Errorf("not what openapi.json says: %v", err)
		}
	})
}
