package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestJobNewAsks(t *testing.T) {
	answers := "fleet 12\nJ-4711\nrear\n123456 km\neleven\n11\n43\nperhaps\nyes\n220\n\n0,13\n0.18\npage 7-12\n0.001\n"
	var asked bytes.Buffer
	c := jobNewCmd{Unit: "mm"}
	require.NoError(t, c.ask(&console{in: strings.NewReader(answers), err: &asked}))
	_, err := c.sheet()
	require.NoError(t, err)
	assert.Equal(t, jobNewCmd{
		Vehicle: "fleet 12", Job: "J-4711", Axle: "rear", Odometer: "123456 km",
		PinionTeeth: 11, WheelTeeth: 43, Used: true, WheelDiameter: 220,
		Unit: "mm", Lower: 0.13, Upper: 0.18, Source: "page 7-12", Resolution: 0.001,
	}, c)
	assert.Contains(t, asked.String(), "Teeth of the pinion: \"eleven\" is not a number\nTeeth of the pinion: ")
	assert.Contains(t, asked.String(), "\"perhaps\" is not yes or no\n")
}

// TestJobNewAsksAgain after each answer that cannot stand, so that the answers
// together always make a sheet.
func TestJobNewAsksAgain(t *testing.T) {
	var answers []string
	for _, q := range [][]string{
		{"", "v"}, {""}, {""}, {""}, {"", "999", "0", "11"}, {"7", "43"}, {""}, {"-3", "99999", ""},
		{"furlong", "in"}, {"-0.1", "nan", "0.18"}, {"", "0.13", "0.2", "0.2"}, {""}, {"5", "0.001"},
	} {
		answers = append(answers, q...)
	}
	var asked bytes.Buffer
	c := jobNewCmd{Unit: "mm"}
	require.NoError(t, c.ask(&console{in: strings.NewReader(strings.Join(answers, "\n") + "\n"), err: &asked}))
	_, err := c.sheet()
	require.NoError(t, err, asked.String())
	assert.Equal(t, []any{11, 43, 0.0, "in", 0.18, 0.2, 0.001}, []any{c.PinionTeeth, c.WheelTeeth, c.WheelDiameter, c.Unit, c.Lower, c.Upper, c.Resolution})
	for _, want := range []string{
		"999: want the number of pinion teeth", "7 is less than the pinion's 11 teeth", "-3: want the outside diameter",
		"unit \"furlong\"", "-0.1 is negative", "NaN is no limit", "missing; --lower is given", "0.13 is not above --lower 0.18", "5: want one count in mm",
	} {
		assert.Contains(t, asked.String(), want)
	}
}

// TestJobNewDoubts an absurd figure once, as the measuring screen does: what is
// typed again stands.
func TestJobNewDoubts(t *testing.T) {
	var asked bytes.Buffer
	c := jobNewCmd{Unit: "mm"}
	answers := "v\n\n\n\n11\n12\n43\n\n\n\n0.13\n17\n17\n\n\n"
	require.NoError(t, c.ask(&console{in: strings.NewReader(answers), err: &asked}))
	assert.Equal(t, []any{43, 17.0}, []any{c.WheelTeeth, c.Upper})
	assert.Contains(t, asked.String(), "look: 11 to 12 teeth is a ratio of 1.09; axles have 2.5 to 8. Type it again if it is so")
	assert.Contains(t, asked.String(), "look: 17 mm is more backlash than any crown wheel has, usually 0.51 mm at most. Type it again if it is so")
}

// TestJobNewNeedsAWindow where the wheel has no usual one.
func TestJobNewNeedsAWindow(t *testing.T) {
	answers := "v\n\n\n\n11\n43\nn\n50\n\n\n\n0.1\n\n\n"
	var asked bytes.Buffer
	c := jobNewCmd{Unit: "mm"}
	require.NoError(t, c.ask(&console{in: strings.NewReader(answers), err: &asked}))
	assert.Contains(t, asked.String(), "no usual backlash for a crown wheel of 50 mm: enter the maker's window")
	assert.InDelta(t, 0.1, c.Upper, 1e-12)
	_, err := c.sheet()
	require.NoError(t, err)
}

func TestJobNewStopsWhenTheAnswersDo(t *testing.T) {
	c := jobNewCmd{Unit: "mm"}
	err := c.ask(&console{in: strings.NewReader("fleet 12\n"), err: &bytes.Buffer{}})
	assert.Equal(t, exitUsage, exitCode(err))
	assert.EqualError(t, err, "job new: the answers ended early")
}

func TestJobNewStopsAtAQuestionWhenInterrupted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in, typing := io.Pipe()
		defer typing.Close()
		ctx, interrupt := context.WithCancel(t.Context())
		var asked bytes.Buffer
		ended := make(chan error, 1)
		go func() { ended <- (&jobNewCmd{}).ask(&console{ctx: ctx, in: in, err: &asked}) }()
		fmt.Fprintln(typing, "fleet 12")
		synctest.Wait()
		interrupt()
		err := <-ended
		assert.EqualError(t, err, "job new: interrupted")
		assert.Equal(t, exitUsage, exitCode(err))
		assert.Equal(t, "Vehicle (registration or any name): Job number: \n", asked.String())
	})
}

// TestJobNewTellsMistakesByFlag and by no line of a file that does not exist.
func TestJobNewTellsMistakesByFlag(t *testing.T) {
	sound := jobNewCmd{Vehicle: "x", PinionTeeth: 11, WheelTeeth: 43, Lower: 0.13, Upper: 0.18}
	for _, tt := range []struct {
		change func(*jobNewCmd)
		want   string
	}{
		{func(c *jobNewCmd) { c.Vehicle = " " }, "--vehicle: missing; give any name of your own, or give --example"},
		{func(c *jobNewCmd) { c.Upper = 0.13 }, "--upper: 0.13 is not above --lower 0.13"},
		{func(c *jobNewCmd) { c.Upper = 0 }, "--upper: missing; --lower is given"},
		{func(c *jobNewCmd) { c.Lower = math.NaN() }, "--lower: NaN is no limit; leave it out for none"},
		{func(c *jobNewCmd) { c.Upper = math.Inf(1) }, "--upper: +Inf is no limit; leave it out for none"},
		{func(c *jobNewCmd) { c.PinionTeeth = -1 }, "--pinion-teeth: -1: want the number of pinion teeth, or 0 when unknown"},
		{func(c *jobNewCmd) { c.BoltTorque = 98 }, "--bolts: missing; --bolt-torque is given"},
		{func(c *jobNewCmd) { c.Bolts = 10 }, "--bolt-torque: missing; --bolts is given"},
		{func(c *jobNewCmd) { c.Lower, c.Upper = 0, 0 }, "--upper: missing; give --lower and --upper from the manual, or --wheel-diameter for the usual window"},
	} {
		c := sound
		tt.change(&c)
		_, err := c.sheet()
		require.EqualError(t, err, tt.want)
		assert.Equal(t, exitUsage, exitCode(parts(err)[0]))
	}
}
