package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/logger/record"
)

func TestWindowInTheFeaturesUnitIsNotSaidTwice(t *testing.T) {
	assert.Empty(t, Example().PrintedWindow(record.FeatureBacklash))
	assert.Empty(t, Example().PrintedWindow(record.FeatureOilFill))
	assert.Equal(t, "L", Example().UnitFor(record.FeatureOilFill))
}
