package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestLike keeps every figure and comment, says where they are from, and takes
// nothing of whose file it was.
func TestLike(t *testing.T) {
	text, err := Like(ExampleTOML(), Vehicle{Label: `the "other" one`, Odometer: "9 km"})
	require.NoError(t, err)
	s, err := Parse("", text)
	require.NoError(t, err)
	was := Example()
	want := was
	want.Vehicle = Vehicle{Label: `the "other" one`, Odometer: "9 km", Axle: was.Vehicle.Axle, Operator: was.Vehicle.Operator, CopiedFrom: was.Vehicle.Label}
	assert.Equal(t, want, s)
	assert.Contains(t, string(text), "# Where this sheet and the maker's manual differ, the manual is right.")

	again, err := Like(text, Vehicle{Label: "third"})
	require.NoError(t, err)
	assert.Equal(t, 1, strings.Count(string(again), "copied_from = "), "of the last")
	assert.NotContains(t, string(again), was.Vehicle.Label)
}

// TestLikeRefuses what it would half copy.
func TestLikeRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"no line":         "schema = 2\n[vehicle]\nlabel = \"a\"\n",
		"dotted":          "schema = 2\nvehicle.label = \"a\"\nvehicle.job = \"\"\n",
		"a text of lines": "schema = 2\n[vehicle]\nlabel = \"a\"\njob = \"\"\"\nlabel = 3\n\"\"\"\n",
	} {
		_, err := Like([]byte(text), Vehicle{Label: "b", Job: "7"})
		assert.ErrorContains(t, err, "write its [vehicle] a line a key", name)
	}
	_, err := Like([]byte("schema = 2\n"), Vehicle{Label: "b"})
	assert.ErrorContains(t, err, "vehicle.label: missing")
}
