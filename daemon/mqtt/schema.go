package mqtt

import (
	"embed"
	"io/fs"
)

//go:embed schema/*.json
var schemas embed.FS

// Schemas holds the JSON Schema (draft 2020-12) of each payload: status.json,
// reading.json, contact.json, alert.json, notice.json, clutch.json and command.json.
func Schemas() fs.FS {
	below, err := fs.Sub(schemas, "schema")
	if err != nil {
		return schemas // cannot be: the folder is embedded above
	}
	return below
}
