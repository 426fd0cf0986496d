package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// Each code of analysis has its sentence, and no sentence is without a code. Of spikes
// two sentences are made in code.
func TestEveryCodeHasItsSentence(t *testing.T) {
	coded := map[string][]string{}
	for _, path := range []string{"../../analysis/note.go", "../../analysis/sample.go", "../../analysis/setup/pattern.go"} {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		for n := range ast.Preorder(f) {
			if v, ok := n.(*ast.ValueSpec); ok && len(v.Values) == 1 {
				if id, ok := v.Type.(*ast.Ident); ok {
					code, err := strconv.Unquote(v.Values[0].(*ast.BasicLit).Value)
					require.NoError(t, err)
					coded[id.Name] = append(coded[id.Name], code)
				}
			}
		}
	}
	said := map[string][]string{"NoteCode": {string(analysis.SpikesAside)}}
	for code := range sentences().Notes {
		said["NoteCode"] = append(said["NoteCode"], string(code))
	}
	for code := range sentences().Contacts {
		said["Seen"] = append(said["Seen"], string(code))
	}
	for fault := range sentences().Faults { // no round raises the others
		assert.Contains(t, coded["Fault"], string(fault))
	}
	assert.ElementsMatch(t, coded["NoteCode"], said["NoteCode"])
	assert.ElementsMatch(t, coded["Seen"], said["Seen"])
}
