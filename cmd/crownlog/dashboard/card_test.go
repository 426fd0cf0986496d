package dashboard

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func cardScene() logger.View {
	v := waitingScene()
	v.State, v.Reading, v.Wanted = logger.StateMeasuring, 1.024, 3
	v.Card, v.Caution, v.Fresh = feature.Card(sheet.Example(), record.FeatureBacklash), feature.Caution(record.FeatureBacklash), true
	return v
}

// shown is the screen as it is drawn now.
func (b *bench) shown(w, h int) string {
	c := newCanvas(w, h, false)
	b.panel.show(b.round.View())
	b.panel.paint(c)
	return c.String()
}

func TestCardStandsBeforeTheFirstRock(t *testing.T) {
	b := newBench(t)
	first := b.shown(80, 24)
	for _, line := range feature.Card(b.sheet, record.FeatureBacklash) {
		assert.Contains(t, first, line)
	}
	assert.Contains(t, first, "CAUTION")
	b.press(" ") // there is nothing to store
	assert.NotContains(t, b.shown(80, 24), "heel", "a key takes it away")
	assert.NotContains(t, b.shown(80, 24), "LOOK")
	b.press("c")
	assert.Contains(t, b.shown(80, 24), "heel", "and brings it back")
	b.press("n")
	assert.NotContains(t, b.shown(80, 24), "heel")
	assert.Equal(t, 0, b.round.View().Current, "and goes nowhere")
	assert.NotContains(t, b.shown(80, 24), "CAUTION", "it stood on the card")

	b = newBench(t)
	assert.Contains(t, b.shown(80, 24), "heel")
	b.to(0, 0, 1)
	for range 2 {
		b.to(0, 0.15, 0.6)
		b.to(0.15, 0, 0.6)
	}
	assert.Positive(t, b.round.View().Rocks)
	assert.NotContains(t, b.shown(80, 24), "heel", "rocking takes it away")
}

func TestCardTakesNoDigitOfATypedValue(t *testing.T) {
	b := newBench(t)
	b.shown(80, 24)
	b.press("0.151\r")
	assert.Len(t, b.captures, 1)
	assert.InDelta(t, 0.151, b.captures[0].Value, 0.001)
}

func TestCardSaysWhatTheManualMeans(t *testing.T) {
	for _, c := range []struct{ measured, spec, says string }{
		{"normal", "normal", "Square to the tooth face, as the manual means it."},
		{"transverse", "transverse", "In line with its movement, as the manual means it."},
		{"normal", "transverse", "The manual means: in line with its movement. The value is converted."},
		{"normal", "unknown", "What the manual means is not known here."},
		{"unknown", "normal", "Square to the tooth face, as the manual means it."},
		{"unknown", "unknown", "Or square to its face? The manual says."},
	} {
		s := sheet.Example()
		s.Plunger.Measured, s.Plunger.Spec = c.measured, c.spec
		assert.Contains(t, feature.Card(s, record.FeatureBacklash)[2], c.says)
	}
}
