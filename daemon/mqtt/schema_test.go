package mqtt_test

import (
	"io/fs"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"clutchd/daemon/mqtt"
)

// schemaLoader finds a schema by the last part of its address.
type schemaLoader struct{ files fs.FS }

func (l schemaLoader) Load(url string) (any, error) {
	f, err := l.files.Open(url[strings.LastIndex(url, "/")+1:])
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return jsonschema.UnmarshalJSON(f)
}

func schema(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	c.UseLoader(schemaLoader{mqtt.Schemas()})
	s, err := c.Compile("schema:///" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// validate holds a payload against its schema.
func validate(t *testing.T, name, payload string) {
	t.Helper()
	if err := check(t, name, payload); err != nil {
		t.Errorf("%s payload %s: %v", name, payload, err)
	}
}

func check(t *testing.T, name, payload string) error {
	t.Helper()
	value, err := jsonschema.UnmarshalJSON(strings.NewReader(payload))
	if err != nil {
		t.Fatalf("%s payload %q: %v", name, payload, err)
	}
	return schema(t, name).Validate(value)
}

func TestSchemas(t *testing.T) {
	tests := []struct {
		sentence, name, payload string
		valid                   bool
	}{
		{"the last will says nothing but offline", "status", `{"status":"offline"}`, true},
		{
			"offline has no next", "status",
			`{"status":"offline","since":"2026-05-04T12:00:00Z","next":"2026-05-04T12:00:00Z"}`,
			false,
		},
		{
			"online with a since has a next", "status",
			`{"status":"online","since":"2026-05-04T12:00:00Z"}`, false,
		},
		{"a stale probe has no value", "reading", `{"place":"","quality":"stale","celsius":28}`, false},
		{
			"a good probe has one", "reading",
			`{"place":"","quality":"good","time":"2026-05-04T12:00:00Z"}`, false,
		},
		{
			"percent is not a ratio", "reading",
			`{"place":"","quality":"good","time":"2026-05-04T12:00:00Z","humidity_ratio":85}`,
			false,
		},
		{
			"a time is RFC 3339", "reading",
			`{"place":"","quality":"good","time":"yesterday","celsius":28}`, false,
		},
		{
			"an alert needs an occurrence", "alert",
			`{"alert":"a","rule":"r","subject":{"kind":"place","id":"p","name":"P"},"eggs":[],"state":"active","severity":"warning","since":"2026-05-04T12:00:00Z","text":""}`,
			false,
		},
		{
			"an alert has no other keys", "alert",
			`{"alert":"a","occurrence":"o","rule":"r","subject":{"kind":"place","id":"p","name":"P"},"eggs":[],"state":"active","severity":"warning","since":"2026-05-04T12:00:00Z","text":"","id":7}`,
			false,
		},
		{
			"a notice needs an id", "notice",
			`{"alert":"a","occurrence":"o","rule":"r","subject":{"kind":"place","id":"p","name":"P"},"eggs":[],"state":"active","severity":"warning","since":"2026-05-04T12:00:00Z","text":"","reason":"raised","time":"2026-05-04T12:00:00Z"}`,
			false,
		},
		{
			"a contact says what it is", "contact",
			`{"kind":"mains","state":"off","since":"2026-05-04T12:00:00Z","detail":"battery 64 %","place":"room"}`, true,
		},
		{"a door is never present", "contact", `{"kind":"door","state":"present","place":""}`, false},
		{"an unknown state has a fault and no since", "contact", `{"kind":"leak","state":"unknown","fault":"absent","place":""}`, true},
		{
			"what is unknown has no since", "contact",
			`{"kind":"leak","state":"unknown","since":"2026-05-04T12:00:00Z","place":""}`, false,
		},
		{"a state that is known has no fault", "contact", `{"kind":"leak","state":"dry","fault":"io","place":""}`, false},
		{"an acknowledgement is a command", "command", `{"do":"acknowledge","occurrence":"o-17"}`, true},
		{
			"shelving until a time is one", "command",
			`{"do":"shelve","occurrence":"o-17","until":"2026-05-04T12:00:00Z","why":"new lamp"}`, true,
		},
		{
			"an acknowledgement has no end", "command",
			`{"do":"acknowledge","occurrence":"o-17","for":"1h"}`, false,
		},
		{"shelving without a time is none", "command", `{"do":"shelve","occurrence":"o-17"}`, false},
		{
			"a clutch does not tell what-ifs", "clutch",
			`{"id":"c","female":"f","laid":{"from":"2026-05-04T12:00:00Z","to":"2026-05-04T12:00:00Z"},"males":[],"eggs":[{"id":"e","mark":"A","state":"incubating","box":"","place_path":"","hold_from_now":[]}]}`,
			false,
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			if err := check(t, tt.name, tt.payload); (err == nil) != tt.valid {
				t.Errorf("valid: %v, want %v: %v", err == nil, tt.valid, err)
			}
		})
	}
}
