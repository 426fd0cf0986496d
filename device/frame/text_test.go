package frame

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func textOf(t testing.TB, text Text) Decoder {
	t.Helper()
	d, err := text.NewDecoder()
	require.NoError(t, err)
	return d
}

func TestSimpleLines(t *testing.T) {
	const joined = "two numbers run together"
	tests := []struct {
		in    string
		want  float64
		unit  string
		flags Flags
		bad   string
	}{
		{in: "0.123", want: 0.123},
		{in: "+0.123", want: 0.123},
		{in: "-0.123 mm", want: -0.123, unit: "mm"},
		{in: "- 0.123", want: -0.123},
		{in: "-  12.5   mm  ", want: -12.5, unit: "mm"},
		{in: "0.123mm", want: 0.123, unit: "mm"},
		{in: "0,123", want: 0.123},
		{in: "1,234", want: 1.234},
		{in: "0.0045in", want: 0.0045, unit: "in"},
		{in: "0.0045 \"", want: 0.0045, unit: "in"},
		{in: "123 \xc2\xb5m", want: 123, unit: "µm"},
		{in: "123 \xb5m", want: 123, unit: "µm"},
		{in: "97.8 N.m", want: 97.8, unit: "N·m"},
		{in: "97.8 Nm", want: 97.8, unit: "N·m"},
		{in: "97.8 N m", want: 97.8, unit: "N·m"},
		{in: "72.1 lbf ft", want: 72.1, unit: "lbf·ft"},
		{in: "72.1 ft-lb", want: 72.1, unit: "lbf·ft"},
		{in: "865 in lb", want: 865, unit: "lbf·in"},
		{in: "9.97 kgf.m", want: 9.97, unit: "kgf·m"},
		{in: "100.25 kPa", want: 100.25, unit: "kPa"},
		{in: "14.5 PSI", want: 14.5, unit: "psi"},
		{in: "D1: +0.123 mm", want: 0.123, unit: "mm"},
		{in: "CH1=0.123", want: 0.123},
		{in: "CH1-0.123", want: -0.123},
		{in: "mm -0.123", want: -0.123, unit: "mm"},
		{in: "CH1,CH2,+00.123mm", want: 0.123, unit: "mm"},
		{in: "0.123 mm HOLD", want: 0.123, unit: "mm", flags: FlagHold},
		{in: "0.123,mm,LOBAT", want: 0.123, unit: "mm", flags: FlagLowBattery},
		{in: "HOLD 0.123", want: 0.123, flags: FlagHold},
		{in: "OVER 9.999", want: 9.999, flags: FlagOverRange},
		{in: "1.5E-3 mm", want: 0.0015, unit: "mm"},
		{in: ".0273", want: 0.0273},
		{in: "0.1234567890123456789", want: 0.1234567890123456789},
		{in: "CH1 : 0.123", want: 0.123},
		{in: "CH1,12.5 mm", want: 12.5, unit: "mm"},
		{in: "LOBAT 0.123 mm", want: 0.123, unit: "mm", flags: FlagLowBattery},
		{in: ",5", want: 0.5},
		{in: "-,5", want: -0.5},
		{in: ",123 mm", want: 0.123, unit: "mm"},
		{in: "mm ,5", want: 0.5, unit: "mm"},

		{in: "0.012 - mm", want: -0.012, unit: "mm"},
		{in: "0.012 + mm", want: 0.012, unit: "mm"},
		{in: "0.012-", want: -0.012},
		{in: "0.012- mm", want: -0.012, unit: "mm"},
		{in: "-0.012 -", bad: "sign is not understood"},
		{in: "-mm 0.012", bad: "sign is not understood"},
		{in: "+mm -0.012", bad: "sign is not understood"},
		{in: "0.012 mm -", want: -0.012, unit: "mm"},
		{in: "0,123.4", bad: joined},
		{in: "\x02+0.123 mm\x03", want: 0.123, unit: "mm"},
		{in: "\x02\x02+0.123 mm", bad: "control byte in the line"},
		{in: "9.91E37", bad: "not a number (9.91E37)"},
		{in: "99100000000000000000000000000000000000", bad: "not a number (9.91E37)"},
		{in: "-9.9E37", bad: "over range", flags: FlagOverRange},
		{in: "0.75 MPa", want: 0.75, unit: "MPa"},
		{in: "7.65 kgf/cm2", want: 7.65, unit: "kgf/cm²"},
		{in: "27.7 inH2O", want: 27.7, unit: "inH2O"},
		{in: "1034 dN·m", want: 1034, unit: "dN·m"},
		{in: "76.3 ft.lbs", want: 76.3, unit: "lbf·ft"},
		{in: "76.3 lbs ft", want: 76.3, unit: "lbf·ft"},
		{in: "120 uin", want: 120, unit: "µin"},
		{in: "18.5 ozf.in", want: 18.5, unit: "ozf·in"},
		{in: "OL", bad: "over range", flags: FlagOverRange},
		{in: "-OL", bad: "over range", flags: FlagOverRange},
		{in: "0.10.2", bad: joined},
		{in: "0.1-0.2", bad: joined},
		{in: "0.1+0.2", bad: joined},
		{in: "0.123 mm0.124", bad: joined},
		{in: "0.123 mm 0.124 mm", bad: joined},
		{in: "0.123 0.124", bad: joined},
		{in: "0,12,3", bad: joined},
		{in: "1,234.5", bad: joined},
		{in: "2026-11-25 0.123", bad: joined},
		{in: "--0.1", bad: "not a number"},
		{in: "+-0.1", bad: "not a number"},
		{in: ".", bad: "not a number"},
		{in: "mm", bad: "no number in the line"},
		{in: "0.123 m", bad: "unknown word after the number"},
		{in: "0.123 mmm", bad: "unknown word after the number"},
		{in: "0.123 mm in", bad: "two units in the line"},
		{in: "0x10", bad: joined},
		{in: "1e999", bad: "not a number"},
		{in: "NaN", bad: "no number in the line"},
		{in: "0.1\x0023", bad: "NUL in the line (parity or break error)"},
		{in: "\x000.123", bad: "NUL in the line (parity or break error)"},
		{in: "0.1\x1b23", bad: "control byte in the line"},
		{in: "0.1?3", bad: "unexpected character"},
		{in: "Err 02", bad: errorMessage},
		{in: "ERROR 3", bad: errorMessage},
		{in: "ERR:17", bad: errorMessage},
		{in: "E 05", bad: errorMessage},
		{in: "E-05", bad: errorMessage},
		{in: "FAIL 12", bad: errorMessage},
		{in: "D1: Err 5", bad: errorMessage},
		{in: "LOW 1.2", bad: notMeasured},
		{in: "BAT 3.01", bad: notMeasured},
		{in: "BAT=3.01", bad: notMeasured},
		{in: "LOBAT 2.9", bad: notMeasured, flags: FlagLowBattery},
		{in: "CAL 5", bad: notMeasured},
		{in: "SN: 10234", bad: notMeasured},
		{in: "READY 1", bad: "unknown word before the number"},
		{in: "D1 0.123", bad: "unknown word before the number"},
		{in: "mm in 0.1", bad: "two units in the line"},
		{in: "CH1,5", bad: "comma may be the decimal mark"},
		{in: ",123.4", bad: joined},
		{in: "\t0.5\tmm\t", want: 0.5, unit: "mm"},
		{in: "N.m 97.8", want: 97.8, unit: "N·m"},
		{in: "ft-lb 72.1", want: 72.1, unit: "lbf·ft"},
		{in: "5.0 N*m", want: 5, unit: "N·m"},
		{in: "CH_1: 0.5", want: 0.5},
		{in: "Foo=0.5", want: 0.5},
		{in: "Foo = 0.5", want: 0.5},
		{in: "0.5 mm9", bad: joined},
		{in: "#1: 0.5", want: 0.5},
		{in: "+OL", bad: "over range", flags: FlagOverRange},
		{in: "-E", bad: errorMessage},
		{in: "CH-", bad: "not a number"},
		{in: "CH.", bad: joined},
		{in: "CH1?0.5", bad: "unexpected character"},
		{in: "0.1\x7f2", bad: "control byte in the line"},
		{in: "0.5{", bad: "unexpected character"},
		{in: "0.5 \x80", bad: "unknown word after the number"},
		{in: "0.5 mm!", bad: "unexpected character"},
	}
	for _, word := range []string{"e", "er", "Err", "ERROR", "fail", "failed", "fault", "alarm"} {
		tests = append(tests, tests[0])
		tests[len(tests)-1].in, tests[len(tests)-1].bad = word+" 0.123", errorMessage
	}
	for _, word := range []string{"low", "lo", "bat", "batt", "battery", "cal", "sn", "id", "no", "ver", "version", "rev", "v", "fw", "sw", "hw"} {
		tests = append(tests, tests[0])
		tests[len(tests)-1].in, tests[len(tests)-1].bad = word+": 0.123", notMeasured
	}
	for word, flag := range map[string]Flags{"hold": FlagHold, "hld": FlagHold, "lobat": FlagLowBattery, "lowbat": FlagLowBattery,
		"lobatt": FlagLowBattery, "lowbatt": FlagLowBattery, "over": FlagOverRange, "overrange": FlagOverRange, "ol": FlagOverRange} {
		tests = append(tests, tests[0])
		tests[len(tests)-1].in, tests[len(tests)-1].flags = "0.123 "+word, flag
	}
	for _, tt := range tests {
		t.Run(tt.in, func(t *testing.T) {
			got := decodeAll(t, textOf(t, Text{}), []byte(tt.in+"\r\n"))
			require.Len(t, got, 1)
			assert.Equal(t, tt.bad, got[0].Bad)
			assert.Equal(t, tt.in, string(got[0].Raw))
			assert.Equal(t, tt.flags, got[0].Flags)
			if tt.bad == "" {
				assert.Equal(t, tt.want, got[0].Value)
				assert.Equal(t, tt.unit, got[0].Unit)
			}
		})
	}
}

func TestWordsOfTheProfileBeforeTheNumber(t *testing.T) {
	text := Text{Words: map[string]string{"I": "in", "M": "mm", "Dial": "ignore", "B": "low-battery"}}
	got := decodeAll(t, textOf(t, text), []byte("I 0.123\nM 0.5\n0.125 I\nDial 0.2\nB 0.3\nI 0.1 mm\n"))
	require.Len(t, got, 6)
	assert.Equal(t, []string{"in", "mm", "in", "", ""}, []string{got[0].Unit, got[1].Unit, got[2].Unit, got[3].Unit, got[4].Unit})
	assert.Equal(t, []float64{0.123, 0.5, 0.125, 0.2, 0.3}, []float64{got[0].Value, got[1].Value, got[2].Value, got[3].Value, got[4].Value})
	assert.Equal(t, FlagLowBattery, got[4].Flags)
	assert.Equal(t, "two units in the line", got[5].Bad)
}

func TestLineEnds(t *testing.T) {
	tests := []struct {
		name, end, in string
		want          []string // raw lines; a leading ! marks a garbled one
	}{
		{"any takes them all", "any", "1.0\r2.0\n3.0\r\n4.0\n\r\n5.0\r", []string{"1.0", "2.0", "3.0", "4.0", "5.0"}},
		{"cr", "cr", "1.0\r2.0\r", []string{"1.0", "2.0"}},
		{"cr does not take lf", "cr", "1.0\n2.0\r", []string{"!1.0\n2.0"}},
		{"lf", "lf", "1.0\n2.0\n", []string{"1.0", "2.0"}},
		{"lf drops a cr before it", "lf", "1.0\r\n2.0\r\n", []string{"1.0", "2.0"}},
		{"crlf", "crlf", "1.0\r\n2.0\r\n", []string{"1.0", "2.0"}},
		{"crlf does not take lf", "crlf", "1.0\n2.0\r\n", []string{"!1.0\n2.0"}},
		{"crlf does not take cr", "crlf", "1.0\r2.0\r\n", []string{"!1.0\r2.0"}},
		{"no end, no line", "any", "1.0", nil},
		{"lf does not take cr", "lf", "1.0\r2.0\n", []string{"!1.0\r2.0"}},
		{"crlf, an lf first", "crlf", "\n1.0\r\n2.0\r\n", []string{"!\n1.0", "2.0"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, size := range []int{1, 2, 3, len(tt.in)} {
				d := textOf(t, Text{LineEnd: tt.end})
				var got []string
				for in := tt.in; in != ""; {
					n := min(size, len(in))
					for _, f := range decodeAll(t, d, []byte(in[:n])) {
						mark := ""
						if f.Bad != "" {
							mark = "!"
						}
						got = append(got, mark+string(f.Raw))
					}
					in = in[n:]
				}
				assert.Equal(t, tt.want, got, "in pieces of %d", size)
			}
		})
	}
}

func TestLineWithoutEndIsCountedOnce(t *testing.T) {
	for _, end := range []string{"any", "cr", "lf", "crlf"} {
		t.Run(end, func(t *testing.T) {
			d := textOf(t, Text{LineEnd: end})
			in := []byte(strings.Repeat("1", 1<<20) + "\r\n0.5\r\n")
			if end == "cr" {
				in = []byte(strings.Repeat("1", 1<<20) + "\r0.5\r")
			}
			var got []Frame
			for len(in) > 0 {
				n := min(997, len(in))
				got = append(got, decodeAll(t, d, in[:n])...)
				in = in[n:]
				assert.LessOrEqual(t, d.Partial(), DefaultMaxLength)
			}
			require.Len(t, got, 2)
			assert.Equal(t, "line too long", got[0].Bad)
			assert.Len(t, got[0].Raw, DefaultMaxLength)
			assert.Equal(t, 0.5, got[1].Value)
		})
	}
}

// A line of just the longest length is whole, in one piece or several.
func TestLongestLine(t *testing.T) {
	pad := strings.Repeat(" ", DefaultMaxLength-5)
	for _, end := range []string{"\n", "\r\n"} {
		for _, size := range []int{1, 4, 14, 100} {
			d := textOf(t, Text{LineEnd: map[string]string{"\n": "lf", "\r\n": "crlf"}[end]})
			var got []Frame
			for in := pad + "0.123" + end + pad + "0.1234" + end + pad + "0.124" + end; in != ""; {
				n := min(size, len(in))
				got = append(got, decodeAll(t, d, []byte(in[:n]))...)
				in = in[n:]
			}
			require.Len(t, got, 3, "pieces of %d", size)
			assert.Equal(t, []string{"", "line too long", ""}, []string{got[0].Bad, got[1].Bad, got[2].Bad}, "pieces of %d", size)
			assert.Equal(t, pad+"0.123", string(got[1].Raw))
		}
	}
}

func TestPartialLine(t *testing.T) {
	for in, want := range map[string]int{"": 0, "0.1": 3, " ": 0, "0.1\n0.25": 4, "0.1\r\n": 0} {
		d := textOf(t, Text{})
		decodeAll(t, d, []byte(in))
		assert.Equal(t, want, d.Partial(), "%q", in)
		d.Reset()
		assert.Zero(t, d.Partial(), "%q", in)
	}
	d := textOf(t, Text{})
	decodeAll(t, d, bytes.Repeat([]byte("1"), DefaultMaxLength+2))
	assert.Zero(t, d.Partial(), "the rest of a line that was reported")
}

func TestDecimalMark(t *testing.T) {
	for _, tt := range []struct{ mark, in, bad string }{
		{"point", "0.5", ""}, {"point", "0,5", "unknown word"}, {"comma", "0,5", ""}, {"comma", "0.5", "two numbers run together"},
		{"any", "0.5", ""}, {"any", "0,5", ""},
	} {
		got := decodeAll(t, textOf(t, Text{Decimal: tt.mark}), []byte(tt.in+"\n"))
		require.Len(t, got, 1)
		if tt.bad == "" {
			assert.Equal(t, Frame{Raw: []byte(tt.in), Value: 0.5, Decimals: 1}, got[0], tt.mark)
		} else {
			assert.NotEmpty(t, got[0].Bad, "%s %s", tt.mark, tt.in)
		}
	}
}

func TestReaderReadsOneLineByItself(t *testing.T) {
	read, err := (&Text{Pattern: `\w+,(?P<value>[^,]*)`}).Reader()
	require.NoError(t, err)
	assert.Equal(t, Frame{Value: 0.25, Decimals: 2}, read([]byte("7, 0.25")))
	assert.Equal(t, Frame{Value: 250, Decimals: -1}, read([]byte(" 8,2.5E2 ")))
	assert.Equal(t, "line does not fit the pattern", read([]byte("8")).Bad)
	_, err = (&Text{Pattern: "x"}).Reader()
	assert.Error(t, err)
}

func TestColumns(t *testing.T) {
	text := Text{Pattern: `(?P<seq>[^,]*),A,(?P<value>[^,]*),(?P<unit>[^,]+)`}
	got := decodeAll(t, textOf(t, text), []byte("17,A, +0.123 ,mm\n18,A,0.124\n19,A,,mm\n20,A,0.1.2,mm\n21,A\x00,0.125,mm\n22,A,0.126,furlong\n23,A,Err 5,mm\n24,ERR,0.127,mm\n"))
	require.Len(t, got, 8)
	assert.Equal(t, Frame{Raw: []byte("17,A, +0.123 ,mm"), Value: 0.123, Unit: "mm", Decimals: 3, Seq: "17"}, got[0])
	for i, want := range []string{"line does not fit the pattern", "no number in the line", "two numbers run together",
		"NUL in the line (parity or break error)", "unit is not known", errorMessage, "line does not fit the pattern"} {
		assert.Equal(t, want, got[i+1].Bad)
	}
	// A clock numbers a line by its text: the same twice is a repeat, another is not.
	clock := decodeAll(t, textOf(t, Text{Pattern: `(?P<seq>[^,]*),(?P<value>.*)`}), []byte("12:30:05,0.1\n12:30:05,0.2\n12:30:06,0.2\n,0.2\n"))
	require.Len(t, clock, 4)
	assert.Equal(t, clock[0].Seq, clock[1].Seq)
	assert.NotEqual(t, clock[1].Seq, clock[2].Seq)
	assert.Equal(t, []string{"12:30:05", "12:30:05", "12:30:06", ""}, []string{clock[0].Seq, clock[1].Seq, clock[2].Seq, clock[3].Seq})
}

func TestPattern(t *testing.T) {
	text := Text{
		Pattern: `(?P<seq>\d{4})(?P<sign>[+-])(?P<value>\d{3}\.\d{3})(?P<unit>[MI])(?P<hold>H?)(?P<low_battery>L?)`,
		Words:   map[string]string{"M": "mm", "I": "in"},
	}
	got := decodeAll(t, textOf(t, text), []byte("0001-000.123M\n0002+000.124IH\n0003+000.125MHL\n0004+00.125M\n"))
	require.Len(t, got, 4)
	assert.Equal(t, Frame{Raw: []byte("0001-000.123M"), Value: -0.123, Unit: "mm", Decimals: 3, Seq: "0001"}, got[0])
	assert.Equal(t, FlagHold, got[1].Flags)
	assert.Equal(t, "in", got[1].Unit)
	assert.Equal(t, FlagHold|FlagLowBattery, got[2].Flags)
	assert.Equal(t, "line does not fit the pattern", got[3].Bad)
}

// A digit that became another is seen where the gauge sends a checksum.
// Source of the first line: public NMEA 0183 sentences, as in frames.csv.
func TestLinesWithAChecksum(t *testing.T) {
	for _, c := range []struct {
		text Text
		in   string
		want []string
	}{
		{Text{Checksum: "xor8", From: 1, Pattern: `\$\w+,(?P<value>[^,]*),m`}, "$SDDPT,0.123,m*14\n$SDDPT,0.723,m*14\n$SDDPT,0.123,m*6\n$SDDPT,0.123,m*zz\n*14\n\n", []string{"0.123", "checksum is wrong", "checksum is wrong", "checksum is wrong", "checksum is wrong"}},
		{Text{Checksum: "sum8"}, "0.123 mmEE\n0.124 mmEE\n", []string{"0.123", "checksum is wrong"}},
		{Text{Checksum: "crc16-modbus"}, "+0.5 0000\n+0.5\n", []string{"checksum is wrong", "checksum is wrong"}},
	} {
		var got []string
		for _, f := range decodeAll(t, textOf(t, c.text), []byte(c.in)) {
			got = append(got, cmp.Or(f.Bad, fmt.Sprint(f.Value)))
		}
		assert.Equal(t, c.want, got)
	}
	sum, _ := ChecksumNamed("crc16-ccitt")
	line := fmt.Sprintf("+0.125 mm*%04X\n", sum.Of([]byte("+0.125 mm")))
	got := decodeAll(t, textOf(t, Text{Checksum: "crc16-ccitt"}), []byte(line))
	require.Len(t, got, 1)
	assert.Equal(t, Frame{Raw: []byte(line[:len(line)-1]), Value: 0.125, Unit: "mm", Decimals: 3}, got[0])
}

// A letter behind the number is never passed over: that of an overflow refuses the
// zero beside it, and one that the profile does not name makes no reading.
func TestStateLetters(t *testing.T) {
	text := Text{Pattern: `(?P<value>[-+\d.]+) G ?(?P<state>.?)`, Words: map[string]string{"S": "ignore", "E": "over", "H": "hold"}}
	got := decodeAll(t, textOf(t, text), []byte("+0012.30 G S\n+0000.00 G E\n+0012.30 G D\n+0012.30 G H\n+0012.30 G \n"))
	require.Len(t, got, 5)
	assert.Equal(t, Frame{Raw: []byte("+0012.30 G S"), Value: 12.3, Decimals: 2}, got[0])
	assert.Equal(t, "over range", got[1].Bad)
	assert.Equal(t, FlagOverRange, got[1].Flags)
	assert.Equal(t, "state is not known", got[2].Bad)
	assert.Equal(t, FlagHold, got[3].Flags)
	assert.Empty(t, got[4].Bad, "a space may stand for nothing special")
}

func TestPatternGroupsThatAreNotThere(t *testing.T) {
	text := Text{Pattern: `(?P<sign>[-+=]?)(?P<value>-?[\d.]+) ?(?P<unit>[a-z ]*)(?P<over>!?)(?:;(?P<seq>.+))?`}
	tests := []struct {
		in   string
		want Frame // without Raw
	}{
		{"1.5", Frame{Value: 1.5, Decimals: 1}},
		{"+1.5 mm", Frame{Value: 1.5, Decimals: 1, Unit: "mm"}},
		{"-1.5", Frame{Value: -1.5, Decimals: 1}},
		{"1.5!;12:30", Frame{Value: 1.5, Decimals: 1, Flags: FlagOverRange, Seq: "12:30"}},
		{"1.5 mm x", Frame{Bad: "unit is not known"}},
		{"1.5 furlong", Frame{Bad: "unit is not known"}},
		{"=1.5", Frame{Bad: "sign is not understood"}},
		{"--1.5", Frame{Bad: "sign is not understood"}},
		{"1.5.2", Frame{Bad: "two numbers run together"}},
	}
	for _, tt := range tests {
		got := decodeAll(t, textOf(t, text), []byte(tt.in+"\n"))
		require.Len(t, got, 1)
		got[0].Raw = nil
		if tt.want.Bad != "" {
			got[0].Decimals = 0
		}
		assert.Equal(t, tt.want, got[0], tt.in)
	}
}

func TestTextBadDescriptions(t *testing.T) {
	for _, tt := range []struct {
		text Text
		want string
	}{
		{Text{LineEnd: "nul"}, `line_end "nul": want any, cr, lf, crlf, idle, or bytes that are no letters or digits`},
		{Text{Checksum: "crc99"}, `checksum "crc99": want ` + ChecksumList},
		{Text{From: 1}, "checksum_from 1: want 0 or more, with a checksum"},
		{Text{Pattern: `(`}, "pattern \"(\": error parsing regexp: missing closing ): `^(?:()$`"},
		{Text{Decimal: "dot"}, `decimal "dot": want any, point or comma`},
		{Text{Hex: "int12"}, `hex "int12": want int8, int16, int24, int32, int64, uint8, uint16, uint24, uint32 or uint64`},
		{Text{Thousands: "x"}, `thousands "x": want a comma, point or apostrophe`},
		{Text{Thousands: ",", Decimal: "comma"}, `thousands ",": want another mark than the decimal one`},
		{Text{Decimals: "2"}, `decimals "2": want fixed or free`},
		{Text{Pattern: `\d+`}, `pattern "\\d+": no group (?P<value>...)`},
		{Text{Pattern: `(?P<value>\d+)(?P<colour>.)`}, `pattern "(?P<value>\\d+)(?P<colour>.)": group "colour", want value, unit, sign, state, hold, low_battery, over, seq or channel`},
		{Text{Channel: "1", Pattern: `(?P<value>.+)`}, `channel "1": want one, and a group (?P<channel>...) in the pattern`},
		{Text{Pattern: `(?P<channel>.)(?P<value>.+)`}, `channel "": want one, and a group (?P<channel>...) in the pattern`},
		{Text{Words: map[string]string{"M": "metre"}}, `words.M: "metre" means nothing known, want a unit (` + UnitList + `), hold, low-battery, over or ignore, or of a sign plus or minus`},
	} {
		_, err := tt.text.NewDecoder()
		assert.EqualError(t, err, tt.want)
	}
}
