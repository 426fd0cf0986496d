package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestJSONKeepsItsCharacters(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, (&console{out: &out}).json([]string{"gap < 0.1 & > 0"}))
	assert.Equal(t, "[\"gap < 0.1 & > 0\"]\n", out.String())
}
