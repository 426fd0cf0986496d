package frame

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// badOf returns the reasons of the lines, "" for sound ones.
func badOf(t *testing.T, text Text, lines ...string) []string {
	t.Helper()
	var bad []string
	d := textOf(t, text)
	d.Feed(time.Time{}, []byte(strings.Join(lines, "\n")+"\n"), func(f *Frame) { bad = append(bad, f.Bad) })
	d.Flush()
	return bad
}

func TestHabitsShowACutLine(t *testing.T) {
	const (
		decimals = "digits after the decimal mark missing or too many"
		form     = "line is cut or has too many characters"
	)
	tests := []struct {
		name string
		in   []string
		last string
	}{
		{"digit lost at the end", []string{"0.120", "0.125", "0.131", "0.13"}, decimals},
		{"digit too many", []string{"0.120", "0.125", "0.131", "0.1311"}, decimals},
		{"zeros may be dropped by the gauge", []string{"0.125", "0.131", "0.129", "0.13"}, ""},
		{"autorange keeps the digits", []string{"9.990", "9.998", "9.999", "10.00"}, ""},
		{"autorange drops the last decimal", []string{"98.0 N.m", "99.5 N.m", "99.9 N.m", "100 N.m"}, ""},
		{"nothing goes on from the last", []string{"10.7 N.m", "15.0 N.m", "19.9 N.m", "100 N.m"}, decimals},
		{"a cut tail is no range", []string{"100.7", "101.0", "101.9", "102"}, decimals},
		{"unit lost", []string{"0.125 mm", "0.129 mm", "0.131 mm", "0.12"}, "unit missing"},
		{"sign lost", []string{"+0.120", "-0.125", "+0.131", "0.131"}, "sign missing"},
		{"zero needs no sign", []string{"+0.120", "-0.125", "+0.131", "0.000"}, ""},
		{"leading zero lost", []string{"00.120", "00.125", "10.131", "0.131"}, form},
		{"padding lost", []string{"  0.120", "  0.125", " 12.131", " 0.131"}, form},
		{"unit has its own form", []string{"0.120 mm", "0.125 mm", "0.131 mm", "0.00515 in"}, ""},
		{"sign comes and goes", []string{"0.120", "0.125", "0.131", "-0.002"}, ""},
		{"point lost", []string{"0.120", "0.125", "0.131", "0131"}, decimals},
		{"too early to tell", []string{"0.120", "0.13"}, ""},
		{"zeros dropped after all", []string{"0.120", "0.13", "0.14", "0.15", "0.1"}, ""},
		{"two plus signs and none", []string{"+0.120", "+0.125", "-0.131", "+0.13"}, decimals},
		{"more digits before the point", []string{"9.120", "9.125", "9.131", "10.002"}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			bad := badOf(t, Text{}, tt.in...)
			require.Len(t, bad, len(tt.in))
			assert.Equal(t, tt.last, bad[len(bad)-1])
			for _, b := range bad[:len(bad)-1] {
				assert.Empty(t, b)
			}
		})
	}
	t.Run("three lines alike are a new habit", func(t *testing.T) {
		bad := badOf(t, Text{}, "0.120", "0.125", "0.131", "0.05", "0.06", "0.07", "0.08")
		assert.Equal(t, []string{"", "", "", "", "", "", ""}, bad)
		bad = badOf(t, Text{}, "0.120", "0.125", "0.131", "0.05", "0.06", "0.133", "0.1")
		assert.Equal(t, []string{"", "", "", decimals, decimals, "", decimals}, bad)
		bad = badOf(t, Text{}, "0.120", "0.125", "0.131", "0.05", "0.0", "0.06.1", "0.07")
		assert.Equal(t, []string{"", "", "", decimals, decimals, "two numbers run together", decimals}, bad)
	})
	t.Run("a usual line between parts those that are alike", func(t *testing.T) {
		bad := badOf(t, Text{}, "0.120", "0.125", "0.131", "0.05", "0.06", "0.133", "0.07", "0.134")
		assert.Equal(t, []string{"", "", "", decimals, decimals, "", decimals, ""}, bad)
	})
	t.Run("no plus any more", func(t *testing.T) {
		bad := badOf(t, Text{}, "+0.120", "+0.125", "-0.131", "0.130", "0.131", "0.132", "0.133", "0.134", "0.135", "0.136")
		assert.Equal(t, make([]string, 10), bad)
	})
	t.Run("lines of two forms are not kept together", func(t *testing.T) {
		d := textOf(t, Text{})
		got := decodeAll(t, d, []byte("0.120\n0.125\n0.131\n0.05\n0.0\n"))
		require.Len(t, got, 4)
		assert.Equal(t, decimals, got[3].Bad)
		assert.True(t, d.Feed(time.Time{}, []byte("0.0\n"), func(*Frame) {}), "and one more is kept back")
	})
	t.Run("no zero in 32 lines", func(t *testing.T) {
		for _, n := range []int{31, 32} {
			var lines []string
			for i := range n {
				lines = append(lines, fmt.Sprintf("0.12%d", i%9+1))
			}
			bad := badOf(t, Text{}, append(lines, "0.12")...)
			assert.Equal(t, n == 32, bad[n] == decimals, "after %d lines: %q", n, bad[n])
		}
	})
	t.Run("a blank line is nothing", func(t *testing.T) {
		assert.Equal(t, []string{""}, badOf(t, Text{}, "", " \t ", "0.1"))
	})
	t.Run("free decimals", func(t *testing.T) {
		bad := badOf(t, Text{Decimals: "free"}, "0.120", "0.125", "0.131", "0.05", "0.0612")
		assert.Equal(t, []string{"", "", "", "", ""}, bad)
	})
}
