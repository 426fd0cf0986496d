package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestLike keeps every figure and comment, marks each window and ring of bolts, and
// takes nothing of whose file it was.
func TestLike(t *testing.T) {
	text, err := Like(ExampleTOML(), Vehicle{Label: `the "other" one`, Odometer: "9 km"})
	require.NoError(t, err)
	s, err := Parse("", text)
	require.NoError(t, err)
	was := Example()
	assert.Equal(t, Vehicle{Label: `the "other" one`, Odometer: "9 km", Axle: was.Vehicle.Axle, Operator: was.Vehicle.Operator}, s.Vehicle)
	require.NotEmpty(t, s.Windows)
	for i, w := range s.Windows {
		assert.Equal(t, was.Vehicle.Label, w.CopiedFrom)
		w.CopiedFrom = ""
		assert.Equal(t, was.Windows[i], w)
	}
	assert.Equal(t, was.Vehicle.Label, s.Bolts[0].CopiedFrom)
	assert.Equal(t, was.Vehicle.Label, s.CopiedFrom())
	assert.Contains(t, string(text), "# Where this sheet and the maker's manual differ, the manual is right.")

	again, err := Like(text, Vehicle{Label: "third"})
	require.NoError(t, err)
	assert.Equal(t, len(s.Windows)+len(s.Bolts), strings.Count(string(again), "copied_from = "), "one mark each, of the last")
	assert.NotContains(t, string(again), was.Vehicle.Label)
}

// TestLikeRefuses what it could not mark, or would half copy.
func TestLikeRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"windows in a line": "schema = 2\nwindow = [{feature = \"backlash\", upper = 0.2}]\n[vehicle]\nlabel = \"a\"\njob = \"\"\n",
		"no line":           "schema = 2\n[vehicle]\nlabel = \"a\"\n",
		"dotted":            "schema = 2\nvehicle.label = \"a\"\nvehicle.job = \"\"\n",
		"a text of lines":   "schema = 2\n[vehicle]\nlabel = \"a\"\njob = \"\"\"\nlabel = 3\n\"\"\"\n",
	} {
		_, err := Like([]byte(text), Vehicle{Label: "b", Job: "7"})
		assert.ErrorContains(t, err, "write it a line a key", name)
	}
	_, err := Like([]byte("schema = 2\n"), Vehicle{Label: "b"})
	assert.ErrorContains(t, err, "vehicle.label: missing")
}
