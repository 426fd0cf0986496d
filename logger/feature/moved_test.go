package feature_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/feature"
	"crownlog/logger/record"
)

func TestParseMove(t *testing.T) {
	for text, want := range map[string]record.Move{
		"1":                                {Amount: 1},
		"\u22121":                          {Amount: -1},
		" +0.5 ":                           {Amount: 0.5},
		"1/2 not seated":                   {Amount: 0.5, Unseated: true},
		"-1 Reversed, not seated":          {Amount: -1, Unseated: true, Reversed: true},
		"far out 1":                        {Far: -1},
		"far side -1":                      {Far: -1},
		"Crown-wheel side in 0,5":          {Near: 0.5},
		"crown in 1, far out 0.5 reversed": {Near: 1, Far: -0.5, Reversed: true},
		"in 1":                             {},
		"crown":                            {},
		"crown 0":                          {},
		"0":                                {},
		"":                                 {},
		"not seated":                       {},
		"1 mm":                             {},
		"far out -1":                       {},
		"far 1 2":                          {},
		"-1 1/2":                           {},
		"1 far 1":                          {},
		"far 1 out":                        {},
		"nan":                              {},
	} {
		got, err := feature.ParseMove(text)
		assert.Equal(t, want, got, "%q", text)
		if want == (record.Move{}) {
			require.ErrorContains(t, err, "a move is typed as", "%q", text)
		} else {
			require.NoError(t, err, "%q", text)
		}
	}
}
