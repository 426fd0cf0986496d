package phone

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger"
	"crownlog/logger/record"
)

// wheel is a backlash of four positions, of which so many are stored.
func wheel(stored int) logger.View {
	v := logger.View{State: logger.StateMeasuring, Decimals: 2, Current: stored, Stored: stored, Bell: stored, Reading: math.NaN(),
		Action: "Turn to position 2, 90 degrees. Rock three times."}
	v.Stage, v.Feature, v.Value, v.Estimate = record.StageFinal, record.FeatureBacklash, math.NaN(), math.NaN()
	v.Window = gum.Limits{Lower: math.NaN(), Upper: math.NaN()}
	for i, label := range []string{"0°", "90°", "180°", "270°"} {
		p := logger.PositionView{Position: record.Position{Index: i + 1, AngleDeg: float64(90 * i), Label: label}, Value: math.NaN(), Current: i == stored}
		if i < stored {
			p.Value, p.Verdict = 0.15+float64(i)/100, gum.Inside
		}
		v.Positions = append(v.Positions, p)
	}
	return v
}

// Whatever a view lacks, the page gets lists and numbers, not null or an error.
func TestEveryViewCanBeSent(t *testing.T) {
	for name, v := range map[string]logger.View{"empty": {Current: -1}, "no position": {}, "wheel": wheel(2), "done": wheel(4)} {
		text, err := json.Marshal(newState(v))
		require.NoError(t, err, name)
		assert.NotContains(t, string(text), "null", name)
	}
	v := wheel(0)
	v.Verdict, v.Alert = gum.Outside, "something"
	assert.Equal(t, "look", newState(v).State)
	v.State = logger.StateLost
	assert.Equal(t, "gauge lost", newState(v).State)
	v.State, v.Alert = logger.StateDone, ""
	assert.Equal(t, "outside", newState(v).State)
}

func TestKindsOfRounds(t *testing.T) {
	v := wheel(0)
	assert.Empty(t, newState(v).Kind)
	v.Feature = record.FeatureCapBolts
	assert.Empty(t, newState(v).Kind, "a wrench that shows what it pulls is not clicked by a thumb")
	v.Keyed = true
	assert.Equal(t, "bolts", newState(v).Kind)
	v.Feature = record.FeatureEngagement
	assert.Equal(t, "lock", newState(v).Kind)
	v.Feature = record.FeatureCloseUp
	assert.Equal(t, "check", newState(v).Kind)
	v.Feature = record.FeaturePatternCoast
	assert.Equal(t, "pattern", newState(v).Kind)
}

func TestKeysAreButtonsOnThePhone(t *testing.T) {
	assert.Equal(t, "Set the gauge and press Store there.", thumbs.Replace("Set the gauge and press space there."))
	assert.Equal(t, "At 90° is stored; Again measures it again.", thumbs.Replace("At 90° is stored; x measures it again."))
	assert.Equal(t, "Press Again to measure it again, Next to go on.", thumbs.Replace("Press x to measure it again, n to go on."))
}
