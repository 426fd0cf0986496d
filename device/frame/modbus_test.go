package frame

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// decodeAll feeds the bytes in one piece and returns copies of the frames.
func decodeAll(t testing.TB, d Decoder, b []byte) []Frame {
	t.Helper()
	var list []Frame
	d.Feed(b, func(f *Frame) {
		own := *f
		own.Raw = append([]byte(nil), f.Raw...)
		list = append(list, own)
	})
	return list
}

func mustHex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := HexBytes(s)
	require.NoError(t, err)
	return b
}

// The request and answer of the Modbus Application Protocol V1.1b3, 6.3, with
// the device address and checks of testdata/frames.csv (rtu2, rtu3, rtu6).
func TestModbusQuestionIsThePublishedOne(t *testing.T) {
	m := Modbus{Address: 0x11, Function: 4, Register: 8, Type: "uint16"}
	assert.Equal(t, mustHex(t, "11 04 00 08 00 01 B2 98"), m.Request())
	m = Modbus{Address: 1, Function: 3, Register: 0, Type: "float32"}
	assert.Equal(t, mustHex(t, "01 03 00 00 00 02 C4 0B"), m.Request())
}

func TestModbusAnswers(t *testing.T) {
	float := Modbus{Address: 1, Function: 4, Type: "float32"}
	frame := func(s string) []byte { return modbusCRC.Append(mustHex(t, s)) }
	tests := []struct {
		name string
		m    Modbus
		in   []byte
		want float64
		bad  string
	}{
		{"float", float, frame("01 04 04 3E 31 A9 FC"), 0.1735, ""}, // 0.1735 as IEEE 754 single
		{"float low word first", Modbus{Address: 1, Function: 4, Type: "float32", Words: "low-first"}, frame("01 04 04 A9 FC 3E 31"), 0.1735, ""},
		{"int16 negative", Modbus{Address: 17, Function: 3, Type: "int16", Decimals: 3}, frame("11 03 02 FF 38"), -0.2, ""},
		{"uint16 of the specification", Modbus{Address: 17, Function: 3, Type: "uint16"}, frame("11 03 02 02 2B"), 555, ""},
		{"int32", Modbus{Address: 17, Function: 3, Type: "int32", Decimals: 3}, frame("11 03 04 FF FF FF 38"), -0.2, ""},
		{"uint32 low first", Modbus{Address: 17, Function: 3, Type: "uint32", Words: "low-first"}, frame("11 03 04 00 01 00 02"), 131073, ""},
		{"scale", Modbus{Address: 17, Function: 3, Type: "uint16", Scale: 25.4}, frame("11 03 02 00 0A"), 254, ""},
		{"exception of the specification", Modbus{Address: 17, Function: 3, Type: "uint16"}, mustHex(t, "11 83 02 C1 34"), 0, "modbus exception 2 (illegal data address)"},
		{"exception with no name", Modbus{Address: 17, Function: 3, Type: "uint16"}, frame("11 83 63"), 0, "modbus exception 99 (unknown)"},
		{"not a number", float, frame("01 04 04 7F C0 00 00"), 0, "not a number"},
		{"infinity", float, frame("01 04 04 7F 80 00 00"), 0, "over range"},
		{"bytes of the check swapped", Modbus{Address: 17, Function: 3, Type: "uint16"}, mustHex(t, "11 83 02 34 C1 00 00 00"), 0, "bytes that are no sound frame"},
		{"another device", float, frame("02 04 04 3E 31 A9 FC"), 0, "bytes that are no sound frame"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := tt.m.NewDecoder()
			require.NoError(t, err)
			got := decodeAll(t, d, tt.in)
			require.Len(t, got, 1)
			assert.Equal(t, tt.bad, got[0].Bad)
			if tt.bad == "" {
				assert.Equal(t, tt.want, got[0].Value)
			}
		})
	}
}

func TestModbusEchoOfTheQuestionIsNotHeard(t *testing.T) {
	m := Modbus{Address: 1, Function: 4, Type: "int16"}
	d, err := m.NewDecoder()
	require.NoError(t, err)
	got := decodeAll(t, d, append(m.Request(), modbusCRC.Append(mustHex(t, "01 04 02 00 07"))...))
	require.Len(t, got, 1)
	assert.Equal(t, 7.0, got[0].Value)
}

// Modbus over Serial Line V1.02, 2.5.1.1 (testdata/modbus_timing.csv).
func TestModbusSilence(t *testing.T) {
	for _, r := range readTable(t, "testdata/modbus_timing.csv") {
		baud, err := strconv.Atoi(strings.TrimPrefix(r[0], ">"))
		require.NoError(t, err)
		if strings.HasPrefix(r[0], ">") {
			baud++
		}
		want, err := strconv.ParseFloat(r[3], 64)
		require.NoError(t, err)
		assert.InDelta(t, want, float64(ModbusSilence(baud))/float64(time.Millisecond), 1e-5, "baud %s", r[0])
	}
}

func TestModbusBadDescriptions(t *testing.T) {
	for _, tt := range []struct {
		m    Modbus
		want string
	}{
		{Modbus{Function: 3, Type: "int16"}, "address 0: want 1 to 247"},
		{Modbus{Address: 1, Function: 5, Type: "int16"}, "function 5: want 3 or 4"},
		{Modbus{Address: 1, Function: 3, Type: "float64"}, `type "float64": want int16, uint16, int32, uint32 or float32`},
		{Modbus{Address: 1, Function: 3, Type: "int32", Register: 65535}, "register 65535: want 0 to 65534"},
		{Modbus{Address: 1, Function: 3, Type: "int16", Words: "swapped"}, `words "swapped": want high-first or low-first`},
	} {
		_, err := tt.m.NewDecoder()
		assert.EqualError(t, err, tt.want)
	}
}
