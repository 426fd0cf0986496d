package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestJobNewAsks(t *testing.T) {
	answers := "fleet 12\nJ-4711\nrear\n123456 km\neleven\n11\n43\n220\n\n0,13\n0.18\npage 7-12\n0.001\n"
	var asked bytes.Buffer
	c := jobNewCmd{Unit: "mm"}
	require.NoError(t, c.ask(&console{in: strings.NewReader(answers), err: &asked}))
	require.NoError(t, c.checkFlags())
	assert.Equal(t, jobNewCmd{
		Vehicle: "fleet 12", Job: "J-4711", Axle: "rear", Odometer: "123456 km",
		PinionTeeth: 11, WheelTeeth: 43, WheelDiameter: 220,
		Unit: "mm", Lower: 0.13, Upper: 0.18, Source: "page 7-12", Resolution: 0.001,
	}, c)
	assert.Contains(t, asked.String(), "Teeth of the pinion: \"eleven\" is not a number\nTeeth of the pinion: ")
}

func TestJobNewStopsWhenTheAnswersDo(t *testing.T) {
	c := jobNewCmd{Unit: "mm"}
	err := c.ask(&console{in: strings.NewReader("fleet 12\n"), err: &bytes.Buffer{}})
	assert.Equal(t, exitUsage, exitCode(err))
	assert.EqualError(t, err, "job new: the answers ended early")
}

func TestWindowUpsideDownIsRefused(t *testing.T) {
	for _, c := range []jobNewCmd{
		{Vehicle: "x", PinionTeeth: 11, WheelTeeth: 43, Lower: 0.18, Upper: 0.13},
		{Vehicle: "x", PinionTeeth: 11, WheelTeeth: 43, Lower: 0.18, Upper: 0.18},
		{Vehicle: "x", PinionTeeth: 11, WheelTeeth: 43, Lower: 0.18},
	} {
		assert.ErrorContains(t, c.checkFlags(), "is not below upper")
	}
}
