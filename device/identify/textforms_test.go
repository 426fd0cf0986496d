package identify

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
)

// sent prints n values of a swing of so many counts.
func sent(n int, size float64, line func(i, count int) string) []byte {
	var b []byte
	for i := range n {
		b = append(b, line(i, int(math.Round(size*math.Sin(float64(i)/11))))...)
	}
	return b
}

// A checksum that fits every line is proposed, and a digit that became another is
// then seen; lines that are all the same prove none.
func TestTextChecksumIsProposed(t *testing.T) {
	xor, _ := frame.ChecksumNamed("xor8")
	sum, _ := frame.ChecksumNamed("crc16-ccitt")
	for _, tt := range []struct {
		want frame.Text
		line func(v string) string
	}{
		{frame.Text{Checksum: "xor8", From: 1}, func(v string) string { return fmt.Sprintf("$%s*%02X", v, xor.Of([]byte(v))) }},
		{frame.Text{Checksum: "crc16-ccitt"}, func(v string) string { return fmt.Sprintf("%s%04x", v, sum.Of([]byte(v))) }},
	} {
		b := sent(60, 300, func(_, c int) string { return tt.line(fmt.Sprintf("%+.3f mm", float64(c)/1000)) + "\r\n" })
		found := Bytes(b, 0)
		require.NotEmpty(t, found)
		got := found[0].Profile.Text
		assert.True(t, found[0].Sure())
		assert.Equal(t, tt.want, frame.Text{Checksum: got.Checksum, From: got.From})
		d, err := found[0].Profile.NewDecoder()
		require.NoError(t, err)
		var bad []string
		d.Feed(time.Time{}, []byte(strings.Replace(tt.line("+0.123 mm"), "3", "8", 1)+"\r\n"), func(f *frame.Frame) { bad = append(bad, f.Bad) })
		assert.Equal(t, []string{"checksum is wrong"}, bad)

		still := Bytes([]byte(strings.Repeat(tt.line("+0.123 mm")+"\r\n", 60)), 0)
		for _, p := range still {
			assert.Empty(t, p.Profile.Text.Checksum)
		}
	}
}

// Letters under which the number was seen to move are proposed as states that are
// passed over, and it is said so. One that was not makes no reading, nor does one
// with a number that stands still, as a zero beyond the range; what may be a sign,
// and gauges that take turns, are no states.
func TestStateLettersAreProposed(t *testing.T) {
	letters := func(i int) string { return string("SSSUS"[i%5]) }
	b := sent(100, 300, func(i, c int) string {
		if i%20 == 19 {
			return "+0.000 mm E\r\n"
		}
		return fmt.Sprintf("%+.3f mm %s\r\n", float64(c)/1000, letters(i))
	})
	found := Bytes(b, 0)
	require.NotEmpty(t, found)
	assert.True(t, found[0].Sure())
	assert.Equal(t, map[string]string{"S": "ignore", "U": "ignore"}, found[0].Profile.Text.Words)
	assert.Contains(t, found[0].Notes, `what the words ["S" "U"] mean was not heard: set them by the manual`)
	assert.Equal(t, "mm", found[0].Profile.Unit)
	assert.Contains(t, found[0].Faults, `unknown word after the number: "+0.000 mm E"`)

	for name, line := range map[string]func(i, c int) string{
		"a sign": func(_, c int) string { return fmt.Sprintf("%c%07.3f\r\n", "PN"[sign(c)], math.Abs(float64(c))/1000) },
		"a sign behind": func(_, c int) string {
			return fmt.Sprintf("%.3f %c\r\n", math.Abs(float64(c))/1000, "LR"[sign(c)])
		},
		"two gauges": func(i, c int) string { return fmt.Sprintf("%c %.3f\r\n", "AB"[i%2], float64(c+1000*(i%2))/1000) },
		"two alike":  func(i, c int) string { return fmt.Sprintf("%c %.3f\r\n", "AB"[i%2], float64(c)/1000) },
		"two now and then": func(i, c int) string {
			return fmt.Sprintf("%c %.3f\r\n", "AAABB"[i%5], float64(c+1000*int("00011"[i%5]-'0'))/1000)
		},
		"an error code": func(i, c int) string { return fmt.Sprintf("%s %d\r\n", []string{"Err", "Fail"}[i%3/2], c) },
	} {
		assert.Empty(t, Bytes(sent(100, 300, line), 0), name)
	}
}

// A gauge that hardly moves proves no state.
func TestStatesOfAGaugeAtRest(t *testing.T) {
	b := sent(100, 1, func(i, c int) string { return fmt.Sprintf("%.3f mm %c\r\n", 5+float64(c)/1000, "SSSUS"[i%5]) })
	for _, p := range Bytes(b, 0) {
		assert.False(t, p.Sure())
	}
}

// What else the lines could be is shown with how far it is behind.
func TestMarginToTheNextReading(t *testing.T) {
	lines := func(base float64, format string) []Proposal {
		return Bytes(sent(60, 90, func(_, c int) string { return fmt.Sprintf(format, base+float64(c)/1000) }), 0)
	}
	found := lines(-4.881, "%.3f\r\n")
	require.Len(t, found, 2)
	assert.Equal(t, []float64{-4.881, -4881}, []float64{found[0].Samples[0].Value, found[1].Samples[0].Value})
	assert.True(t, found[0].Sure(), "a point seldom parts thousands")
	assert.InDelta(t, 14, found[0].Margin, 1e-9, "10 bits for that, 4 for the decimals")
	assert.InDelta(t, -14, found[1].Margin, 1e-9)

	found = Bytes(sent(60, 90, func(_, c int) string {
		return strings.Replace(fmt.Sprintf("%.3f\r\n", -4.881+float64(c)/1000), ".", ",", 1)
	}), 0)
	require.GreaterOrEqual(t, len(found), 2)
	assert.False(t, found[0].Sure(), "a comma does as often")

	found = Bytes(sent(60, 9, func(_, c int) string { return fmt.Sprintf("%04d\r\n", 1453+c/9) }), 0)
	require.Len(t, found, 2, "and as hex")
	assert.False(t, found[0].Sure())
	assert.Equal(t, []float64{1453, 0x1453}, []float64{found[0].Samples[0].Value, found[1].Samples[0].Value})
}

// Hex digits are read by their width, of two's complement where they are as many in
// every line.
func TestHexLines(t *testing.T) {
	for format, want := range map[string]string{"%04X\r\n": "int16", "0x%04x\r\n": "int16"} {
		found := Bytes(sent(60, 300, func(_, c int) string { return fmt.Sprintf(format, uint16(c)) }), 0)
		require.NotEmpty(t, found)
		assert.True(t, found[0].Sure())
		assert.Equal(t, want, found[0].Profile.Text.Hex, format)
	}
	found := Bytes(sent(60, 300, func(_, c int) string { return fmt.Sprintf("%X\r\n", 400+c) }), 0)
	require.NotEmpty(t, found)
	assert.Equal(t, "uint64", found[0].Profile.Text.Hex, "noughts are dropped")
	assert.True(t, found[0].Sure())
}

// A CRC without a name is proposed by its parameters.
func TestCRCByItsParameters(t *testing.T) {
	const want = "width=8 poly=0x31 init=0xff refin=false refout=false xorout=0x0"
	b := sent(60, 300, func(_, c int) string { return string(sealed(want, []byte{0xAA, byte(c >> 8), byte(c)})) })
	found := Bytes(b, 0)
	require.NotEmpty(t, found)
	assert.Equal(t, want, found[0].Profile.Packed.Checksum)
	assert.True(t, found[0].Sure())
}
