package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strconv"

	"crownlog/device/strict"
)

// SheetSchema is the newest schema of job.toml this package reads, and the one it
// writes. 2 has the keys of 1: a program that knows 1 alone must not take the chain
// of the job's captures.csv for damage, so it must leave the job alone.
const SheetSchema = 2

// ErrNewerSchema marks a job sheet written for a later crownlog.
var ErrNewerSchema = errors.New("job.toml has a newer schema")

// Load reads a job sheet strictly. Every mistake it finds is a *strict.Error with
// file, line and column; several are joined. A sheet with a newer schema fails with
// ErrNewerSchema.
func Load(path string) (Sheet, error) {
	text, err := strict.ReadFile(path)
	if err != nil {
		return Sheet{}, fmt.Errorf("read job.toml: %w", err)
	}
	return Parse(path, text)
}

// schemaLine is the line that names the schema. It is looked for by itself, so that a
// newer sheet is called newer, not full of unknown keys.
var schemaLine = regexp.MustCompile(`(?m)^schema[ \t]*=[ \t]*(\d+)`)

// Parse is Load on text; name stands for the file in errors.
func Parse(name string, text []byte) (Sheet, error) {
	if m := schemaLine.FindSubmatchIndex(text); m != nil {
		if schema, _ := strconv.Atoi(string(text[m[2]:m[3]])); schema > SheetSchema {
			return Sheet{}, fmt.Errorf("%s:%d:1: %w: schema %d, this program reads up to %d",
				name, 1+bytes.Count(text[:m[0]], []byte("\n")), ErrNewerSchema, schema, SheetSchema)
		}
	}
	return strict.Decode(name, text, sheetMistakes)
}
