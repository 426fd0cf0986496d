package journal

import (
	"bufio"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/record"
)

// TestFactsAreStoredInWords, and read back as they were stored.
func TestFactsAreStoredInWords(t *testing.T) {
	f := newFolder(t)
	for note, c := range map[string]record.Capture{
		"pass 2 of 3 (60 %)":        {Feature: record.FeatureCapBolts, Unit: "N·m", Pass: record.Pass{N: 2, Of: 3, Percent: 60}},
		"not seated: cup held off":  {Feature: record.FeatureMove, Unseated: true, Note: "cup held\noff"},
		"back-face: flat, they say": {Feature: record.FeatureOverride, Hold: "back-face", Note: "flat, they say"},
	} {
		c.Stage = record.StageSetUp
		stored, err := f.Append(c)
		require.NoError(t, err)
		assert.Equal(t, note, stored.NoteText())
		line := string(appendOld(nil, stored))
		assert.Contains(t, line, note)
		snap, err := readFolder(f.Dir())
		require.NoError(t, err)
		assert.Equal(t, stored, snap.Captures[stored.ID-1])
	}
	typed, err := f.Append(record.Capture{Stage: record.StageSetUp, Feature: record.FeatureMove, Note: "reversed on the way"})
	require.NoError(t, err)
	assert.True(t, typed.Reversed, "what will be read back is known at once")
}

// goodCells is a capture with something in every cell.
const goodCells = "7,3,2026-03-04T09:30:00.5Z,bench,backlash,2,45,0.171,mm,0.0015,3,-0.012,0.159,ok,indicator,text,0.001,normal,106"

func TestParseCapture(t *testing.T) {
	c, err := parseCapture(strings.Split(goodCells, ","))
	require.NoError(t, err)
	assert.Equal(t, record.Capture{
		ID: 7, Supersedes: 3, Time: time.Date(2026, 3, 4, 9, 30, 0, 5e8, time.UTC), Stage: "bench", Feature: "backlash", Position: 2, AngleDeg: 45,
		Value: 0.171, Unit: "mm", U: 0.0015, N: 3, Low: -0.012, High: 0.159, Quality: "ok", Gauge: "indicator", Note: "text",
		Repeatability: 0.001, Convention: "normal", RadiusMM: 106,
	}, c)
	for at, want := range map[int]string{
		0: "not a whole number", 1: "not a whole number", 2: "not a time", 5: "not a whole number", 6: "not a number", 7: "not a number",
		9: "not a number", 10: "not a whole number", 11: "not a number", 12: "not a number", 16: "not a number", 18: "not a number",
	} {
		cells := strings.Split(goodCells, ",")
		cells[at] = "x"
		c, err := parseCapture(cells)
		require.EqualError(t, err, want+`: "x"`, "cell %d", at)
		assert.Equal(t, record.Capture{}, c)
	}
	_, err = parseCapture(strings.Split(goodCells, ",")[1:])
	require.EqualError(t, err, "18 cells, want 22")
	cells := strings.Split(goodCells, ",")
	cells[0], cells[6] = "x", "y"
	_, err = parseCapture(cells)
	require.ErrorContains(t, err, `"x"`, "the first mistake is told")
}

// TestDamagedCaptureLines have a check value that holds and cannot be captures.
func TestDamagedCaptureLines(t *testing.T) {
	for line, want := range map[string]string{
		`1,0,"open`: "quotes do not match", "1,0": "2 cells", "1,0,,,backlash,0,,,,,0,,,,,,,,": "no stage", "1,0,,s,note,-1,,,,,0,,,,,,,,": "position -1",
		"1,1,,s,note,0,,,,,0,,,,,,,,": "supersedes 1", "1,0,,s,note,0,1e999,,,,0,,,,,,,,": "not a number", "1,0,,s,note,0,NaN,,,,0,,,,,,,,": "not a number",
		`1,0,,s,note,0,,,m"m,,0,,,,,,,,`: "quotes do not match", `1,0,,s,"f"x,0,,,,,0,,,,,,,,`: "quotes do not match",
		"1,0,,s,f,0,,,,,0,,,,,,,,": `unknown feature "f"`, "1,0,,S s,note,0,,,,,0,,,,,,,,": `stage "S s" is none`,
		"1,0,,s,backlash,1,,0.15,in,,0,,,,,,,,": `unit "in" of a capture that is kept in "mm"`, "1,0,,s,backlash,999999999,,0.15,mm,,0,,,,,,,,": "position 999999999",
		"1,0,,s,backlash,1,,0.15,mm,-0.01,0,,,,,,,,": "uncertainty -0.01 is less than 0", "1,0,,s,backlash,1,,0.15,mm,,-1,,,,,,,,": "count of readings -1",
		"0,0,,,chain,0,,,,,0,,,,,,,,": "capture 0 follows capture 0", // no chain, no entries
	} {
		data := oldHeader + lineEnd + string(sealLine([]byte(line+","), 0))
		captures, _, _, err := readCaptures("x", strings.NewReader(data), nil)
		require.ErrorContains(t, err, want, line)
		assert.Nil(t, captures.captures)
	}
}

func TestNumbersAndTimesInCells(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", math.Copysign(0, -1): "0", 0.1: "0.1", 1e-9: "0.000000001", 9e-10: "9e-10", 1e15: "1e+15", 9e14: "900000000000000", -2.5: "-2.5", math.NaN(): "",
	} {
		assert.Equal(t, want, string(AppendNumber(nil, v)))
		in := cellReader{cells: []string{want}}
		assert.InDelta(t, v, in.number(), 0, "NaN is equal to NaN here")
		require.NoError(t, in.err)
	}
	for _, s := range []string{"x", "NaN", "Inf", "-inf", "1e999", " 1"} {
		in := cellReader{cells: []string{s}}
		in.number()
		require.EqualError(t, in.err, `not a number: "`+s+`"`)
	}
	in := cellReader{cells: []string{"2026-03-04T10:30:00+01:00", "yesterday", "x"}}
	east := in.time()
	assert.True(t, east.Equal(time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC)))
	assert.Equal(t, 10, east.Hour(), "the zone it was written in")
	require.NoError(t, in.err)
	in.time()
	in.whole()
	require.EqualError(t, in.err, `not a time: "yesterday"`, "the first thing that is wrong")
}

func TestBrokenEscapes(t *testing.T) {
	for _, s := range []string{`\`, `a\`, `\n`, `\x`, `\x4`, `\xzz`, `\x4g`, `\y41`} {
		text, err := unescapeRaw(s)
		require.ErrorIs(t, err, errBadEscape, s)
		assert.Empty(t, text)
	}
	for s, want := range map[string]string{`\\`: `\`, `\x41`: "A", `b\x41c`: "bAc", `\\x41`: `\x41`, `\x00\xff`: "\x00\xff"} {
		text, err := unescapeRaw(s)
		require.NoError(t, err)
		assert.Equal(t, want, text)
	}
}

// TestEachFlag has a word of its own.
func TestEachFlag(t *testing.T) {
	seen := make(map[string]bool)
	for bit := frame.Flags(1); bit <= frame.FlagPress || bit <= frame.FlagFrozen; bit <<= 1 {
		cell := strings.Join(bit.Words(), "+")
		require.NotEmpty(t, cell, "flag %d", bit)
		assert.False(t, seen[cell], cell)
		seen[cell] = true
		flags, err := parseFlags(cell)
		require.NoError(t, err)
		assert.Equal(t, bit, flags)
	}
}

func TestReadingCells(t *testing.T) {
	ev, err := parseReading(&cellReader{cells: strings.Split("2026-03-04T09:30:00Z,g,OL,,,garbled+over-range", ",")})
	require.NoError(t, err)
	assert.Equal(t, device.Event{Kind: device.EventGarbled, Time: time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC), Gauge: "g", Text: "OL", Flags: frame.FlagOverRange}, ev)
	ev, err = parseReading(&cellReader{cells: strings.Split(",g,1.5 mm,1.5,mm,hold+frozen", ",")})
	require.NoError(t, err)
	assert.Equal(t, device.Event{Kind: device.EventReading, Gauge: "g",
		Reading: device.Reading{Gauge: "g", Raw: "1.5 mm", Value: 1.5, Unit: "mm", Flags: frame.FlagHold | frame.FlagFrozen}}, ev)
	for line, want := range map[string]string{
		",g,1,1,mm": "5 cells, want 6", "x,g,1,1,mm,": "not a time", `,g,\q,1,mm,`: "unknown escape", ",g,1,,mm,odd": `no value, and unknown event "odd"`,
		",g,1,,,garbled+odd": `unknown flag "odd"`, ",g,1,1x,mm,": "not a number", ",g,1,1,mm,hold+odd": `unknown flag "odd"`,
	} {
		ev, err := parseReading(&cellReader{cells: strings.Split(line, ",")})
		require.ErrorContains(t, err, want)
		assert.Equal(t, device.Event{}, ev)
	}
	for range ReadReadings("no-such-file.csv") {
		return
	}
	t.Error("a file that is not there is told")
}

// TestIsReadings: also what another program has saved anew.
func TestIsReadings(t *testing.T) {
	for text, want := range map[string]bool{
		readingsHeader: true, readingsHeader + "\r\n": true, readingsHeader + "\n": true, "\uFEFF" + readingsHeader + "\r": true,
		strings.ReplaceAll(readingsHeader, ",", ";") + "\r\n": true, readingsHeader + ",more\n": false, readingsHeader[1:]: false, "": false, "value\n1\n": false,
	} {
		assert.Equal(t, want, IsReadings(bufio.NewReader(strings.NewReader(text))), "%q", text)
	}
}

// TestLongLine is longer than what is read at once.
func TestLongLine(t *testing.T) {
	f := newFolder(t)
	text := strings.Repeat("0123456789", 20_000)
	for range 2 {
		_, err := f.Append(record.Capture{Stage: record.StageFinal, Feature: record.FeatureNote, Note: text})
		require.NoError(t, err)
	}
	snap, err := readFolder(f.Dir())
	require.NoError(t, err)
	require.Len(t, snap.Captures, 2)
	assert.Equal(t, text, snap.Captures[1].Note)
}
