package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNoColorIsHonoured(t *testing.T) {
	t.Setenv("NO_COLOR", "")
	assert.False(t, screenOptions().NoColor, "an empty one is not set")
	t.Setenv("NO_COLOR", "1")
	assert.True(t, screenOptions().NoColor)
}
