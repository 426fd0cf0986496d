package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWindowInTheFeaturesUnitIsNotSaidTwice(t *testing.T) {
	assert.Empty(t, ExampleSheet().PrintedWindow(FeatureBacklash))
	assert.Empty(t, ExampleSheet().PrintedWindow(FeatureOilFill))
	assert.Equal(t, "L", ExampleSheet().UnitFor(FeatureOilFill))
}
