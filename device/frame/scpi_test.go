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

func TestSCPIItemOfAList(t *testing.T) {
	d, err := (&SCPI{Query: "FETC?", Item: 2}).NewDecoder()
	require.NoError(t, err)
	got := decodeAll(t, d, []byte("1,+2.50E-01,0\r\n7\n1,,3\n"))
	require.Len(t, got, 3)
	assert.Equal(t, 0.25, got[0].Value)
	assert.Equal(t, "too few numbers in the answer", got[1].Bad)
	assert.Equal(t, "not a number of IEEE 488.2", got[2].Bad)
}
