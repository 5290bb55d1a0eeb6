package main

import (
	"io/fs"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"clutchd/daemon/mqtt"
)

// shelf finds a schema by the last part of its address: the clutch's, as
// brokers are told it, and the estimate's, which points into that one.
type shelf struct{ clutch, own fs.FS }

func (s shelf) Load(url string) (any, error) {
	name, from := url[strings.LastIndex(url, "/")+1:], s.clutch
	if name == "estimate.schema.json" {
		from = s.own
	}
	f, err := from.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return jsonschema.UnmarshalJSON(f)
}

// checkEstimate holds what `estimate -json` printed against its schema. folder
// holds the schema.
func checkEstimate(folder, printed string) error {
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	c.UseLoader(shelf{mqtt.Schemas(), os.DirFS(folder)})
	schema, err := c.Compile("schema:///estimate.schema.json")
	if err != nil {
		return err
	}
	value, err := jsonschema.UnmarshalJSON(strings.NewReader(printed))
	if err != nil {
		return err
	}
	return schema.Validate(value)
}

// holdsSchema holds the last call's output against the estimate's schema; with
// !, it must not hold.
func holdsSchema(ts *testscript.TestScript, neg bool, args []string) {
	printed := ts.ReadFile(args[0])
	err := checkEstimate(ts.Getenv("ROOT")+"/daemon/clutchd/testdata", printed)
	if neg != (err != nil) {
		ts.Fatalf("held against its schema: %v\n%s", err, printed)
	}
	if strings.Contains(printed, "0001-01-01") {
		ts.Fatalf("a time that has not been set:\n%s", printed)
	}
}
