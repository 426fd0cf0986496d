package frame

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Number forms of IEEE 488.2, 8.7.2 to 8.7.4, as printed in public manuals
// (testdata/scpi_numbers.csv).
func TestSCPINumberForms(t *testing.T) {
	for _, r := range readTable(t, "testdata/scpi_numbers.csv") {
		text, valid, want := r[0], r[2], r[3]
		t.Run(text, func(t *testing.T) {
			d, err := (&SCPI{Query: "READ?"}).NewDecoder()
			require.NoError(t, err)
			got := decodeAll(t, d, []byte(text+"\n"))
			if text == "" {
				assert.Empty(t, got, "a blank line is nothing")
				return
			}
			require.Len(t, got, 1)
			switch valid {
			case "no":
				assert.NotEmpty(t, got[0].Bad)
			case "special":
				assert.Contains(t, []string{"not a number (9.91E37)", "over range"}, got[0].Bad)
			default:
				v, err := strconv.ParseFloat(want, 64)
				require.NoError(t, err)
				assert.Empty(t, got[0].Bad)
				assert.Equal(t, v, got[0].Value)
			}
		})
	}
}

func TestSCPIBadDescriptions(t *testing.T) {
	_, err := (&SCPI{}).NewDecoder()
	assert.EqualError(t, err, "query missing, want what to send, like READ?")
}

// Over range is a fact of the measurement, not a number a refusal.
func TestSCPINoValue(t *testing.T) {
	d, err := (&SCPI{Query: "READ?"}).NewDecoder()
	require.NoError(t, err)
	got := decodeAll(t, d, []byte("9.91E37\n-9.9E37\n1,2\n+1.5\n"))
	require.Len(t, got, 4)
	assert.True(t, got[0].Refused)
	assert.Equal(t, FlagOverRange, got[1].Flags)
	assert.False(t, got[1].Refused)
	assert.Equal(t, "line does not fit the pattern", got[2].Bad)
	assert.Equal(t, Frame{Raw: []byte("+1.5"), Value: 1.5, Decimals: 1}, got[3])
}

// An instrument may drop zeros, however long it did not.
func TestSCPIDropsZeros(t *testing.T) {
	d, err := (&SCPI{Query: "READ?"}).NewDecoder()
	require.NoError(t, err)
	got := decodeAll(t, d, []byte("1.10\n1.20\n1.31\n1.4\n"))
	require.Len(t, got, 4)
	assert.Empty(t, got[3].Bad)
	assert.Equal(t, 1.4, got[3].Value)
}
