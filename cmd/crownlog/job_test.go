package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/sheet"
)

// asked runs the questions of job new over answers, and returns what they set and
// what was said.
func asked(t *testing.T, dir string, answers ...string) (sheet.Params, string, error) {
	t.Helper()
	var said bytes.Buffer
	c := jobNewCmd{Dir: dir}
	err := c.ask(&console{in: strings.NewReader(strings.Join(answers, "\n") + "\n"), err: &said}, len(questions))
	return c.Params, said.String(), err
}

func TestJobNewAsks(t *testing.T) {
	p, said, err := asked(t, t.TempDir(), "fleet 12", "eleven", "11 43", "0,13 - 0,18 mm page 7-12", "0.0005 in",
		"kept, perhaps", "new gears", "kept shims no lock", "10", "10 x 98 N·m M12x1.25 10.9", "")
	require.NoError(t, err)
	assert.Equal(t, sheet.Params{
		Vehicle: sheet.Vehicle{Label: "fleet 12"}, PinionTeeth: 11, WheelTeeth: 43, Used: true, AdjusterKind: "shims",
		Unit: "mm", Lower: 0.13, Upper: 0.18, Source: "page 7-12", ResolutionMM: 0.0127, WheelBolts: "10 x 98 N·m M12x1.25 10.9",
	}, p)
	for _, want := range []string{"\"eleven\": want the teeth", "\"perhaps\" is none of kept", "\"gears\" is none of", "\"10\": want how many, the torque and its unit"} {
		assert.Contains(t, said, want)
	}
	text, err := sheet.NewTOML(p)
	require.NoError(t, err)
	s, err := sheet.Parse("", text)
	require.NoError(t, err)
	assert.False(t, s.HasLock())
	assert.Equal(t, 98.0, s.Bolts[0].TargetNm())
}

// TestJobNewAsksAgain after each answer that cannot stand, so that the answers
// together always make a sheet.
func TestJobNewAsksAgain(t *testing.T) {
	p, said, err := asked(t, t.TempDir(), "", "v", "999 43", "11", "", "0.18 0.13 mm", "0.13 0.18", "0.13 0.18 p. 12", "-0.1 0.2 mm", "x 0.2 mm", "50 mm", "220 mm",
		"5", "fine", "0.001", "", "400 98 N·m", "10 98 furlong", "10 0 N·m", "", "4 8,5 kgf·m")
	require.NoError(t, err, said)
	assert.Equal(t, []any{0, 220.0, 0.0, 0.001, "4 8,5 kgf·m"}, []any{p.PinionTeeth, p.WheelDiameterMM, p.Upper, p.ResolutionMM, p.CapBolts})
	for _, want := range []string{
		"missing; write any name of your own", "999: want the number of crown wheel teeth", "want the teeth of the pinion and of the crown wheel",
		"0.13 is not above 0.18", "\"\" is no unit: write mm, in or thou", "\"p.\" is no unit", "\"-0.1 0.2 mm\": want both limits", "\"x 0.2 mm\": want both limits",
		"no usual backlash for a crown wheel of 50 mm", "5: want one count in mm", "\"fine\" is not a number", "400: want 1 to 64 bolts",
		"unit \"furlong\"", "0: want the manual's torque, above 0",
	} {
		assert.Contains(t, said, want)
	}
	_, err = sheet.NewTOML(p)
	require.NoError(t, err)
}

// TestJobNewDoubts an absurd figure once, as the measuring screen does: what is
// typed again stands.
func TestJobNewDoubts(t *testing.T) {
	p, said, err := asked(t, t.TempDir(), "v", "11 12", "11 43", "0.13 17 mm", "0.13 17 mm", "", "", "10 980 N·m", "10 98 N·m", "")
	require.NoError(t, err)
	assert.Equal(t, []any{43, 17.0, "10 98 N·m"}, []any{p.WheelTeeth, p.Upper, p.WheelBolts})
	assert.Contains(t, said, "look: 11 to 12 teeth is a ratio of 1.09; axles have 2.5 to 8. Type it again if it is so")
	assert.Contains(t, said, "look: 17.000 mm is more backlash than any crown wheel has, usually 0.510 mm at most. Type it again if it is so")
	assert.Contains(t, said, "look: 980 N·m is no torque of an axle's bolts")
}

// TestJobNewGoesBack to the question before, with what was answered there.
func TestJobNewGoesBack(t *testing.T) {
	p, said, err := asked(t, t.TempDir(), "v", "11 43", "back", "back", "w", "-", "0.13 0.18 mm", "", "", "", "")
	require.NoError(t, err)
	assert.Equal(t, []any{"w", 0, 0.18}, []any{p.Label, p.WheelTeeth, p.Upper})
	assert.Contains(t, said, "[11 43]: 1/7 Name of the vehicle")
}

// TestJobNewKeepsAnswers of a run that ended early, and offers them to the next.
func TestJobNewKeepsAnswers(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "axle")
	_, _, err := asked(t, dir, "fleet 12", "11 43", "0.13 0.18 mm p. 12")
	assert.Equal(t, exitUsage, exitCode(err))
	assert.EqualError(t, err, "job new: ended early")

	p, said, err := asked(t, dir, "", "11 41", "", "", "", "", "")
	require.NoError(t, err)
	assert.Equal(t, []any{"fleet 12", 41, 0.18, "p. 12"}, []any{p.Label, p.WheelTeeth, p.Upper, p.Source})
	assert.Contains(t, said, "[fleet 12]: ")
	require.FileExists(t, dir+".answers")
}

func TestJobNewStopsAtAQuestionWhenInterrupted(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "axle")
	synctest.Test(t, func(t *testing.T) {
		in, typing := io.Pipe()
		defer typing.Close()
		ctx, interrupt := context.WithCancel(t.Context())
		var asked bytes.Buffer
		ended := make(chan error, 1)
		go func() { ended <- (&jobNewCmd{Dir: dir}).ask(&console{ctx: ctx, in: in, err: &asked}, len(questions)) }()
		fmt.Fprintln(typing, "fleet 12")
		synctest.Wait()
		interrupt()
		err := <-ended
		assert.EqualError(t, err, "job new: ended early")
		assert.Equal(t, exitUsage, exitCode(err))
	})
	kept, err := os.ReadFile(dir + ".answers")
	require.NoError(t, err)
	assert.Equal(t, "fleet 12", strings.TrimSpace(string(kept)))
}

// TestJobNewTellsMistakes by key, and by no line of a file that does not exist.
func TestJobNewTellsMistakes(t *testing.T) {
	for _, tt := range []struct {
		change func(*sheet.Params)
		want   string
	}{
		{func(p *sheet.Params) { p.Label = " " }, "vehicle.label: missing; write any name of your own for the vehicle"},
		{func(p *sheet.Params) { p.Upper = 0.13 }, "window.lower: lower 0.13 is not below upper 0.13"},
		{func(p *sheet.Params) { p.Upper = 0 }, "window.lower: lower 0.13 is not below upper 0"},
		{func(p *sheet.Params) { p.Lower = math.NaN() }, "window.lower: NaN is no limit; leave it out for none"},
		{func(p *sheet.Params) { p.Upper = math.Inf(1) }, "window.upper: +Inf is no limit; leave it out for none"},
		{func(p *sheet.Params) { p.PinionTeeth = -1 }, "gear_set.pinion_teeth: -1: want the number of pinion teeth, or 0 when unknown"},
		{func(p *sheet.Params) { p.WheelBolts = "98 N·m" }, "\"98 N·m\": want how many, the torque and its unit, such as 10 98 N·m, and thread and class where they are known: 10 98 N·m M12x1.25 10.9"},
		{func(p *sheet.Params) { p.Lower, p.Upper = 0, 0 }, "a new job needs the backlash window (--lower, --upper), or the wheel's diameter for a default one (--wheel-diameter)"},
	} {
		c := jobNewCmd{Params: sheet.UsualParams()}
		c.Label, c.PinionTeeth, c.WheelTeeth, c.Lower, c.Upper = "x", 11, 43, 0.13, 0.18
		tt.change(&c.Params)
		_, err := c.sheet(nil)
		require.EqualError(t, err, "job new: "+tt.want)
		assert.Equal(t, exitUsage, exitCode(err))
	}
}
