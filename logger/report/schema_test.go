package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/sheet"
)

// A schema is the part of JSON Schema 2020-12 that the results schema uses.
type schema struct {
	Ref        string            `json:"$ref"`
	Type       any               `json:"type"` // a word or a list of words
	Const      any               `json:"const"`
	Enum       []any             `json:"enum"`
	AnyOf      []schema          `json:"anyOf"`
	Required   []string          `json:"required"`
	Additional *bool             `json:"additionalProperties"`
	Properties map[string]schema `json:"properties"`
	Items      *schema           `json:"items"`
	Minimum    *float64          `json:"minimum"`
	Format     string            `json:"format"`
	Defs       map[string]schema `json:"$defs"`

	// Words without weight in validation, named so that an unknown keyword of
	// the schema fails to load.
	Schema      string `json:"$schema"`
	ID          string `json:"$id"`
	Title       string `json:"title"`
	Description string `json:"description"`
}

func loadSchema(t *testing.T) schema {
	t.Helper()
	text, err := os.ReadFile("../../testdata/schema/results.schema.json")
	require.NoError(t, err)
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	var s schema
	require.NoError(t, dec.Decode(&s))
	return s
}

// check returns what is wrong with v under s, each with its place.
func (s schema) check(root schema, at string, v any) []string {
	if s.Ref != "" {
		def, ok := root.Defs[strings.TrimPrefix(s.Ref, "#/$defs/")]
		if !ok {
			return []string{at + ": unknown reference " + s.Ref}
		}
		return def.check(root, at, v)
	}
	var wrong []string
	fail := func(format string, args ...any) { wrong = append(wrong, at+": "+fmt.Sprintf(format, args...)) }
	if s.Type != nil && !s.allows(v) {
		fail("%T is not %v", v, s.Type)
		return wrong
	}
	if s.Const != nil && v != s.Const {
		fail("%v is not %v", v, s.Const)
	}
	if s.Enum != nil && !slices.Contains(s.Enum, v) {
		fail("%v is none of %v", v, s.Enum)
	}
	if len(s.AnyOf) > 0 && !slices.ContainsFunc(s.AnyOf, func(o schema) bool { return len(o.check(root, at, v)) == 0 }) {
		fail("fits none of the alternatives")
	}
	switch v := v.(type) {
	case float64:
		if s.Minimum != nil && v < *s.Minimum {
			fail("%v is below %v", v, *s.Minimum)
		}
	case string:
		if _, err := time.Parse(time.RFC3339Nano, v); s.Format == "date-time" && err != nil {
			fail("%v", err)
		}
	case []any:
		for i, e := range v {
			wrong = append(wrong, s.Items.check(root, fmt.Sprintf("%s[%d]", at, i), e)...)
		}
	case map[string]any:
		wrong = append(wrong, s.checkObject(root, at, v)...)
	}
	return wrong
}

func (s schema) checkObject(root schema, at string, v map[string]any) []string {
	var wrong []string
	for _, name := range s.Required {
		if _, ok := v[name]; !ok {
			wrong = append(wrong, at+"."+name+": missing")
		}
	}
	for name, e := range v {
		p, ok := s.Properties[name]
		if !ok {
			if s.Additional != nil && !*s.Additional {
				wrong = append(wrong, at+"."+name+": not in the schema")
			}
			continue
		}
		wrong = append(wrong, p.check(root, at+"."+name, e)...)
	}
	return wrong
}

func (s schema) allows(v any) bool {
	words, ok := s.Type.([]any)
	if !ok {
		words = []any{s.Type}
	}
	for _, w := range words {
		switch x := v.(type) {
		case nil:
			ok = w == "null"
		case bool:
			ok = w == "boolean"
		case string:
			ok = w == "string"
		case float64:
			ok = w == "number" || w == "integer" && x == math.Trunc(x)
		case []any:
			ok = w == "array"
		case map[string]any:
			ok = w == "object"
		}
		if ok {
			return true
		}
	}
	return false
}

func TestResultsFollowTheSchema(t *testing.T) {
	s := loadSchema(t)
	for name, d := range map[string]Data{
		"whole job": demoData(), "many positions": manyPositions(), "nothing measured": Build(demoSheet(), nil, reportDate),
		"nothing entered": Build(sheet.Sheet{}, nil, time.Time{}),
	} {
		t.Run(name, func(t *testing.T) {
			assert.Empty(t, s.check(s, "results", resultsOf(t, d)))
		})
	}
}

func TestSchemaCheckFindsMistakes(t *testing.T) {
	s := loadSchema(t)
	for _, tc := range []struct {
		name, want string
		spoil      func(map[string]any)
	}{
		{"a field missing", "results.verdict: missing", func(m map[string]any) { delete(m, "verdict") }},
		{"a field too many", "results.colour: not in the schema", func(m map[string]any) { m["colour"] = "red" }},
		{"an unknown verdict", "results.verdict: safe is none of", func(m map[string]any) { m["verdict"] = "safe" }},
		{"text for a number", "results.backlash[0].mean: string is not", func(m map[string]any) {
			m["backlash"].([]any)[0].(map[string]any)["mean"] = "0.17"
		}},
		{"half a position", "results.backlash[0].n: float64 is not integer", func(m map[string]any) {
			m["backlash"].([]any)[0].(map[string]any)["n"] = 7.5
		}},
		{"a date without a time", "results.made: parsing time", func(m map[string]any) { m["made"] = "2026-03-14" }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			m := resultsOf(t, demoData())
			tc.spoil(m)
			wrong := s.check(s, "results", m)
			require.Len(t, wrong, 1)
			assert.Contains(t, wrong[0], tc.want)
		})
	}
}

// resultsOf is the JSON export, decoded.
func resultsOf(t *testing.T, d Data) map[string]any {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, JSON(&b, d))
	var m map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &m))
	return m
}
