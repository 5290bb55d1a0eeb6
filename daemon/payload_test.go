package daemon_test

import (
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"clutchd/daemon/mqtt"
)

// checkPayloads holds every message that came against its schema.
func (s *scenario) checkPayloads() {
	s.Helper()
	kinds, schemas := map[string]int{}, map[string]*jsonschema.Schema{}
	for _, p := range []*phone{s.phone, s.away} {
		all, _ := p.heard()
		for _, m := range all {
			kind := strings.Split(m.topic, "/")[2]
			if m.payload == "" { // a retained topic is emptied
				continue
			}
			kinds[kind]++
			if schemas[kind] == nil {
				schemas[kind] = payloadSchema(s.T, kind)
			}
			value, err := jsonschema.UnmarshalJSON(strings.NewReader(m.payload))
			if err == nil {
				err = schemas[kind].Validate(value)
			}
			if err != nil {
				s.Errorf("%s %s: %v", m.topic, m.payload, err)
			}
		}
	}
	for _, kind := range []string{"status", "reading", "alert", "notice", "clutch"} {
		if kinds[kind] == 0 {
			s.Errorf("no %s came", kind)
		}
	}
}

func payloadSchema(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	f, err := mqtt.Schemas().Open(name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text, err := jsonschema.UnmarshalJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	c.UseLoader(shelf{})
	if err := c.AddResource("schema:///"+name+".json", text); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("schema:///" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

// shelf gives the schemas that others refer to.
type shelf struct{}

func (shelf) Load(url string) (any, error) {
	f, err := mqtt.Schemas().Open(url[strings.LastIndex(url, "/")+1:])
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return jsonschema.UnmarshalJSON(f)
}
