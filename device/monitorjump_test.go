package device

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestRockingThroughAFactorOfInch: among steps this large, a value that happens
// to stand in the ratio of inch to millimetre to the last, and has more
// decimals, is still one of the same unit.
func TestRockingThroughAFactorOfInch(t *testing.T) {
	m := newMonitor(Profile{Resolution: 0.001})
	assert.Zero(t, markAll(&m, 3, "", 0.01, 0.06, 0.11, 0.16, 0.11, 0.06, 0.01, 0.06, 0.11, 0.16))
	assert.Zero(t, markAll(&m, 5, "", 0.0063))
}
