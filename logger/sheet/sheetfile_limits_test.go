package sheet

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wrongSheets are sheets that are refused, with a size: whoever drops another
// file on the program, or a damaged one, waits no longer than it takes to read.
var wrongSheets = map[string]func(n int) string{
	"unknown keys":     func(n int) string { return "schema = 1\n" + lines(n, "k%d = 1\n") },
	"unknown tables":   func(n int) string { return "schema = 1\n" + lines(n, "[t%d]\nlabel = 1\n") },
	"unknown inside":   func(n int) string { return "schema = 1\n[vehicle]\n" + lines(n, "k%d = {label = 1}\n") },
	"windows of none":  func(n int) string { return "schema = 1\n" + lines(n, "[[window]]\nunit = \"%d\"\n") },
	"a heading's name": func(n int) string { return "schema = 1\n[" + strings.Repeat("a.", n) + "a]\n" + lines(n, "k%d = 1\n") },
	"long comments":    func(n int) string { return "schema = 1\n" + lines(1000, "#"+strings.Repeat("-", n/80)+"\nk%d = 1\n") },
	"a bad value":      func(n int) string { return "schema = 1\n" + lines(n, "#%d\n") + "positions = 0,5\n" },
	"a bad value in a table": func(n int) string {
		return "schema = 1\n[vehicle]\n" + lines(n, "#%d\n") + "label = 5\n"
	},
}

func lines(n int, format string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

// TestWrongSheetTakesNoMoreThanItsSize counts bytes, which do not depend on what
// else the machine does; BenchmarkWrongSheet has the times.
func TestWrongSheetTakesNoMoreThanItsSize(t *testing.T) {
	for name, sheet := range wrongSheets {
		t.Run(name, func(t *testing.T) {
			small, large := allocated(t, sheet(1000)), allocated(t, sheet(8000))
			assert.Less(t, large, 12*small, "eight times the sheet")
		})
	}
}

// allocated is how many bytes are asked for while a sheet is refused.
func allocated(t *testing.T, sheet string) uint64 {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := Parse("job.toml", []byte(sheet))
	runtime.ReadMemStats(&after)
	require.Error(t, err)
	return after.TotalAlloc - before.TotalAlloc
}

func BenchmarkWrongSheet(b *testing.B) {
	for name, sheet := range wrongSheets {
		for _, n := range []int{4000, 32000} {
			text := []byte(sheet(n))
			b.Run(fmt.Sprintf("%s/%d", name, n), func(b *testing.B) {
				b.SetBytes(int64(len(text)))
				b.ReportAllocs()
				for b.Loop() {
					_, _ = Parse("job.toml", text)
				}
			})
		}
	}
}

// TestTooManyEntries: what is counted need not be a key of the sheet.
func TestTooManyEntries(t *testing.T) {
	for name, text := range map[string]string{
		"unknown keys":       lines(2000, "k%d = 1\n"),
		"under a heading":    "[t]\n" + lines(1999, "k%d = 1\n"),
		"in an unknown list": "k = [" + lines(2000, "%d, ") + "]\n",
		"in a known list":    "stages = [" + lines(2000, "\"s%d\", ") + "]\n",
		"windows":            lines(1000, "[[window]]\nunit = \"%d\"\n"),
	} {
		_, err := Parse("job.toml", []byte("schema = 1\n"+text))
		assert.EqualError(t, err, "job.toml: more than 2000 keys, tables and listed values: nobody wrote this by hand", name)
	}
	_, err := Parse("job.toml", []byte("schema = 1\n"+lines(1999, "k%d = 1\n")))
	require.Error(t, err)
	assert.Equal(t, 1999, strings.Count(err.Error(), "unknown key"), "2000 are told one by one")
}

// A key that is a number is a key like any other.
func TestKeyThatIsANumber(t *testing.T) {
	_, err := Parse("job.toml", []byte(smallSheet+"5 = 1\n"))
	assert.EqualError(t, err, "job.toml:4:1: vehicle.5: unknown key. Allowed here: label, job, axle, odometer, operator, copied_from, checked_by, vin, centre_serial")
}
