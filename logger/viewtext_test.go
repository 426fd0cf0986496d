package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/device/frame"
	"crownlog/logger/record"
)

func TestDoubtsAboutAReading(t *testing.T) {
	v := View{ReadingFlags: frame.FlagFrozen | frame.FlagLowBattery | frame.FlagPress}
	v.Feature = record.FeatureBacklash
	assert.Equal(t, "LOW BATTERY · SAME DIGITS", v.Doubts())
	v.Feature = record.FeatureCapBolts // a wrench that nobody pulls
	assert.Equal(t, "LOW BATTERY", v.Doubts())
	assert.Empty(t, View{}.Doubts())
}

func TestMarksOnARing(t *testing.T) {
	places := func(degs ...float64) []PositionView {
		var ps []PositionView
		for _, d := range degs {
			ps = append(ps, PositionView{Position: record.Position{AngleDeg: d}})
		}
		return ps
	}
	assert.Equal(t, []float64{0, 98.2, 196.4}, RingAngles(places(0, 98.2, 196.4)), "where they are")
	assert.Equal(t, []float64{0, 90, 180, 270}, RingAngles(places(0, 360, 90, 180)), "two at one place: evenly")
	assert.Equal(t, []float64{0, 180}, RingAngles(places(record.Blank("", "", testTime).AngleDeg, 90)), "one without an angle: evenly")
}

func TestTimeLeftOfACountdown(t *testing.T) {
	v := View{}
	v.Left = 460.2
	assert.Equal(t, "07:41", v.TimeLeft())
}
