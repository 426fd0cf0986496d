package report

import (
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestNumbersInJSON(t *testing.T) {
	for _, c := range []struct {
		in   float64
		want string
	}{
		{0, "0"},
		{0.173, "0.173"},
		{0.1 + 0.2, "0.3"},
		{-0.012, "-0.012"},
		{123456.789, "123456.789"},
		{2.5e-9, "0.0000000025"},
		{1e20, "100000000000000000000"},
		{1e15, "1000000000000000"},
		{1e14, "100000000000000"},
		{1e-6, "0.000001"},
		{math.NaN(), "null"},
		{math.Inf(1), "null"},
		{math.Inf(-1), "null"},
	} {
		got, err := json.Marshal(Number(c.in))
		require.NoError(t, err)
		assert.Equal(t, c.want, string(got))
	}
}

func TestJSONKeepsItsCharacters(t *testing.T) {
	var d Data
	d.Sheet.Vehicle.Label = "12 <&> 13"
	for _, write := range []func(io.Writer, Data) error{JSON, ChangesJSON} {
		var out strings.Builder
		require.NoError(t, write(&out, d))
		assert.Contains(t, out.String(), `"12 <&> 13"`)
	}
}
