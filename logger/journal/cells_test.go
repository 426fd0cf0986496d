package journal

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestGuardText(t *testing.T) {
	for in, want := range map[string]string{
		"":                "",
		"plain":           "plain",
		"=1+2":            "'=1+2",
		"+cmd|' /C'!A0":   "'+cmd|' /C'!A0",
		"-2+3":            "'-2+3",
		"@SUM(A1)":        "'@SUM(A1)",
		"＝1":              "'＝1",
		"\t=1":            "'=1", // the tab is a control character and goes
		"-0.012":          "-0.012",
		"+0,5":            "+0,5",
		"'quoted":         "''quoted",
		"1-2":             "1-2",
		"a\u2028b\u2029c": "a b c", // some programs break lines there
	} {
		assert.Equal(t, want, GuardText(in), "%q", in)
	}
	for _, s := range []string{"=1", "'", "''=", "-", "+", "@", "a'b", "-1", "–"} {
		assert.Equal(t, s, unguardText(GuardText(s)))
	}
}

func FuzzCells(f *testing.F) {
	for _, s := range []string{"", "a,b", `"`, `""`, "=1", "'x", " lead", "\x00\xff", `back\slash`, "−", "\u2028", "\u0089", "\ufffd"} {
		f.Add(s, s)
	}
	f.Fuzz(func(t *testing.T, a, b string) {
		raw, err := unescapeRaw(unguardText(GuardText(escapeRaw(a))))
		require.NoError(t, err)
		assert.Equal(t, a, raw)
		line := appendCell(appendCell(nil, GuardText(a)), GuardText(b))
		line = sealLine(line, 0)
		assert.Equal(t, 1, strings.Count(string(line), "\n"))
		covered, err := openLine(line[:len(line)-1])
		require.NoError(t, err)
		cells, err := splitCells(string(covered), nil)
		require.NoError(t, err)
		require.Len(t, cells, 2)
		assert.Equal(t, oneLine(a), unguardText(cells[0]))
		assert.Equal(t, oneLine(b), unguardText(cells[1]))
		// The standard library reads the same cells.
		std, err := csv.NewReader(strings.NewReader(string(line))).Read()
		require.NoError(t, err)
		assert.Equal(t, cells, std[:2])
	})
}

func FuzzJournalLine(f *testing.F) {
	c := sampleCapture(1, 0.17)
	c.ID = 1
	f.Add(appendOld(nil, c))
	f.Add([]byte("1,0,,a,b,0,,,,,0,,,,,,,,,00000000\r\n"))
	f.Fuzz(func(t *testing.T, line []byte) {
		var r ledger
		data := append([]byte(oldHeader+lineEnd), line...)
		_, _, err := scanJournal("x", strings.NewReader(string(data)), oldHeader, r.line)
		if err == nil && len(r.captures) == 1 {
			again := appendOld(nil, r.captures[0])
			var second ledger
			_, _, err = scanJournal("x", strings.NewReader(oldHeader+lineEnd+string(again)), oldHeader, second.line)
			require.NoError(t, err)
			assertSameCapture(t, r.captures[0], second.captures[0])
		}
	})
}
