package frame

import (
	"bytes"
	"math"
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
	d.Feed(time.Time{}, b, func(f *Frame) {
		own := *f
		own.Raw = bytes.Clone(f.Raw)
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
	// 6.3: register 108 is sent as 00 6B; one above 255 needs its high byte.
	m = Modbus{Address: 1, Function: 3, Register: 0x126B, Type: "int32"}
	assert.Equal(t, mustHex(t, "01 03 12 6B 00 02"), m.Request()[:6])
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

func TestWhatAModbusAnswerSaysBesideItsValue(t *testing.T) {
	float := Modbus{Address: 1, Function: 4, Type: "float32", Decimals: 2}
	whole := Modbus{Address: 1, Function: 4, Type: "int16", Decimals: 2}
	scaled := Modbus{Address: 1, Function: 4, Type: "int16", Decimals: 2, Scale: 2}
	tests := []struct {
		name string
		m    Modbus
		in   string
		want Frame // without Raw
	}{
		{"whole number", whole, "01 04 02 00 7B", Frame{Value: 1.23, Decimals: 2}},
		{"scaled", scaled, "01 04 02 00 7B", Frame{Value: 2.46, Decimals: -1}},
		{"float", float, "01 04 04 3F 80 00 00", Frame{Value: 0.01, Decimals: -1}},
		{"not a number", float, "01 04 04 7F C0 00 00", Frame{Bad: "not a number", Refused: true, Decimals: -1}},
		{"infinity", float, "01 04 04 FF 80 00 00", Frame{Bad: "over range", Flags: FlagOverRange, Decimals: -1}},
		{"exception", whole, "01 84 0B", Frame{Bad: "modbus exception 11 (gateway target device failed to respond)", Refused: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := tt.m.NewDecoder()
			require.NoError(t, err)
			in := modbusCRC.Append(mustHex(t, tt.in))
			got := decodeAll(t, d, in)
			require.Len(t, got, 1)
			tt.want.Raw, tt.want.Binary = in, true
			if tt.want.Bad != "" {
				tt.want.Value = got[0].Value // of no meaning
			}
			if tt.want.Bad == "not a number" {
				got[0].Value, tt.want.Value = 0, 0
			}
			assert.Equal(t, tt.want, got[0])
		})
	}
}

// What cannot be an answer to the question is skipped to the next byte that
// may begin one.
func TestModbusFindsTheAnswerAmongOtherBytes(t *testing.T) {
	m := Modbus{Address: 17, Function: 3, Type: "uint16"}
	answer := modbusCRC.Append(mustHex(t, "11 03 02 02 2B"))
	for _, before := range []string{"11", "11 03", "11 03 04 02", "11 04 02 02 2B", "11 83 02 C1", "11 03 00 00 00 01", "03 02", "11 03 04 02 2B 61 F9", "00 00 00 00 00 00 00"} {
		t.Run(before, func(t *testing.T) {
			d, err := m.NewDecoder()
			require.NoError(t, err)
			got := decodeAll(t, d, append(mustHex(t, before), answer...))
			require.Len(t, got, 2)
			assert.Equal(t, mustHex(t, before), got[0].Raw)
			assert.Equal(t, "bytes that are no sound frame", got[0].Bad)
			assert.Equal(t, 555.0, got[1].Value)
			assert.Zero(t, d.Partial())
		})
	}
}

// The echo of the question may come in two pieces, and belongs to no garbled
// run, which is no longer than the longest frame.
func TestModbusEchoInPieces(t *testing.T) {
	m := Modbus{Address: 1, Function: 4, Type: "float32"}
	d, err := m.NewDecoder()
	require.NoError(t, err)
	assert.Empty(t, decodeAll(t, d, m.Request()[:3]))
	assert.Equal(t, 3, d.Partial())
	assert.Empty(t, decodeAll(t, d, m.Request()[3:]))
	assert.Zero(t, d.Partial())
	got := decodeAll(t, d, make([]byte, 20))
	require.Len(t, got, 2)
	assert.Len(t, got[0].Raw, 9)
	assert.Equal(t, 2, d.Partial())
	assert.Empty(t, decodeAll(t, d, nil))
	d.Reset()
	assert.Zero(t, d.Partial())
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
		{Modbus{Address: 1, Function: 3, Type: "float16"}, `type "float16": want int16, uint16, int32, uint32, float32, int64, uint64 or float64`},
		{Modbus{Address: 1, Function: 3, Type: "int32", Register: 65535}, "register 65535: want 0 to 65534"},
		{Modbus{Address: 248, Function: 3, Type: "int16"}, "address 248: want 1 to 247"},
		{Modbus{Address: 1, Function: 3, Type: "int16", Register: -1}, "register -1: want 0 to 65535"},
		{Modbus{Address: 1, Function: 3, Type: "uint16", Register: 65536}, "register 65536: want 0 to 65535"},
		{Modbus{Address: 1, Function: 3, Type: "int16", Decimals: 16}, "decimals 16: want 0 to 15"},
		{Modbus{Address: 1, Function: 3, Type: "int16", Decimals: -1}, "decimals -1: want 0 to 15"},
		{Modbus{Address: 1, Function: 3, Type: "int16", Scale: math.NaN()}, "scale NaN: want a finite number"},
		{Modbus{Address: 1, Function: 3, Type: "int16", Scale: math.Inf(-1)}, "scale -Inf: want a finite number"},
		{Modbus{Address: 1, Function: 3, Type: "int16", Words: "swapped"}, `words "swapped": want high-first, low-first, ABCD, CDAB, BADC or DCBA`},
	} {
		_, err := tt.m.NewDecoder()
		assert.EqualError(t, err, tt.want)
	}
	for _, m := range []Modbus{
		{Address: 1, Function: 3, Type: "uint16", Register: 65535, Decimals: 15},
		{Address: 247, Function: 4, Type: "float32", Register: 65534, Words: "low-first"},
	} {
		_, err := m.NewDecoder()
		assert.NoError(t, err, "%+v", m)
	}
}

// The four orders of the trade, of two registers and of four.
func TestModbusByteOrders(t *testing.T) {
	for _, tt := range []struct {
		words, kind string
		data        []byte
		want        float64
	}{
		{"ABCD", "float32", []byte{0x3E, 0x24, 0xDD, 0x2F}, 0.161},
		{"CDAB", "float32", []byte{0xDD, 0x2F, 0x3E, 0x24}, 0.161},
		{"BADC", "float32", []byte{0x24, 0x3E, 0x2F, 0xDD}, 0.161},
		{"DCBA", "float32", []byte{0x2F, 0xDD, 0x24, 0x3E}, 0.161},
		{"ABCD", "float64", []byte{0x3F, 0xC4, 0x9B, 0xA5, 0xE3, 0x53, 0xF7, 0xCF}, 0.161},
		{"DCBA", "float64", []byte{0xCF, 0xF7, 0x53, 0xE3, 0xA5, 0x9B, 0xC4, 0x3F}, 0.161},
		{"CDAB", "int64", []byte{0xFF, 0x5F, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}, -161},
		{"BADC", "int16", []byte{0x5F, 0xFF}, -161},
	} {
		m := Modbus{Address: 1, Function: 3, Type: tt.kind, Words: tt.words}
		d, err := m.NewDecoder()
		require.NoError(t, err)
		got := decodeAll(t, d, modbusCRC.Append(append([]byte{1, 3, byte(len(tt.data))}, tt.data...)))
		require.Len(t, got, 1, tt.words)
		assert.Equal(t, tt.want, got[0].Value, "%s %s", tt.kind, tt.words)
		assert.Equal(t, byte(len(tt.data)/2), m.Request()[5])
	}
}
