package main

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestInputThatNeverComesEndsWithTheRun(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	in, other := io.Pipe()
	defer other.Close()
	var out, said bytes.Buffer
	code := make(chan int)
	go func() { code <- run(ctx, []string{"analyse", "-", "--as", "backlash"}, in, &out, &said) }()
	_, err := io.WriteString(other, "time,value\n0,0.1\n")
	require.NoError(t, err)
	cancel()
	assert.Equal(t, exitUsage, <-code)
	assert.Equal(t, "crownlog: read -: interrupted before the end of the input\n", said.String())
	assert.Empty(t, out.String())
}

func TestInterruptibleReadsAll(t *testing.T) {
	text := strings.Repeat("0.12 mm\n", 10000)
	got, err := io.ReadAll((&console{ctx: t.Context(), in: strings.NewReader(text)}).stdin())
	require.NoError(t, err)
	assert.Equal(t, text, string(got))
}
