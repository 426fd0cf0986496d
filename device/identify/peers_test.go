package identify

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
)

// A slave as common Modbus libraries are: what is no frame for it spoils what
// follows until the line was silent for half a second. It holds float32 values in
// the input registers from its first on.
type slave struct {
	talker
	address byte
	first   int
	value   func() float32
	junk    time.Time
}

func (s *slave) Write(b []byte) (int, error) {
	s.sent = append(s.sent, bytes.Clone(b))
	spoilt := time.Since(s.junk) < 500*time.Millisecond
	if spoilt || len(b) != 8 || !modbusCRC.Right(b, 0, 6, false) {
		s.junk = time.Now()
		return len(b), nil
	}
	register, n := int(b[2])<<8|int(b[3])-s.first, int(b[5])
	switch {
	case b[0] != s.address:
		return len(b), nil
	case b[1] != 4:
		s.pending = append(s.pending, modbusCRC.Append([]byte{b[0], b[1] | 0x80, 1})...)
	case register < 0 || register+n > 4:
		s.pending = append(s.pending, modbusCRC.Append([]byte{b[0], b[1] | 0x80, 2})...)
	default:
		all := binary.BigEndian.AppendUint32(nil, math.Float32bits(s.value()))
		all = binary.BigEndian.AppendUint32(all, math.Float32bits(21.5))
		s.pending = append(s.pending, modbusCRC.Append(append([]byte{b[0], b[1], byte(2 * n)}, all[2*register:2*(register+n)]...))...)
	}
	return len(b), nil
}

func TestModbusSlavesOfManyKinds(t *testing.T) {
	for _, tt := range []struct {
		name    string
		address byte
		first   int
		moves   bool
		why     string
	}{
		{"the usual address", 1, 0, true, ""},
		{"the last address", 247, 0, true, ""},
		{"a register further on", 3, 16, true, ""},
		{"nothing moves", 1, 0, false, "and no usual register of it moved"},
		{"no usual register", 1, 3000, true, "and no usual register of it moved"},
	} {
		synctest.Test(t, func(t *testing.T) {
			swings, i := swing(60), 0
			s := &slave{address: tt.address, first: tt.first, value: func() float32 {
				if i++; !tt.moves {
					i = 1
				}
				return float32(swings[i%60]) / 1000
			}}
			found, err := Port(context.Background(), "port", Options{MaySend: true, Bauds: []int{9600},
				Open: func(string, device.Serial) (device.Port, error) { return s, nil }})
			if tt.why != "" {
				assert.ErrorContains(t, err, tt.why, tt.name)
				assert.ErrorAs(t, err, new(*CannotTell))
				return
			}
			require.NoError(t, err, tt.name)
			require.NotEmpty(t, found, tt.name)
			assert.True(t, found[0].Sure(), tt.name)
			m := found[0].Profile.Modbus
			assert.Equal(t, frame.Modbus{Address: int(tt.address), Function: 4, Register: tt.first, Type: "float32"}, *m, tt.name)
			assert.Empty(t, found[0].Profile.Ask)
			for _, p := range found {
				assert.NotContains(t, strings.Join(p.Notes, " "), "another master")
			}
		})
	}
}

// An instrument with none of our queries is left with an empty queue of errors,
// and no other speed is tried.
func TestAnInstrumentIsLeftWithoutErrors(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		errors, opened := 0, 0
		gauge := &talker{answer: func(ask []byte) []byte {
			switch string(ask) {
			case "*IDN?\n":
				return []byte("INVENTED,BRIDGE,7,1.0\r\n")
			case "SYST:ERR?\n":
				if errors > 0 {
					errors--
					return []byte("-113,\"Undefined header\"\r\n")
				}
				return []byte("+0,\"No error\"\r\n")
			}
			errors++
			return nil
		}}
		_, err := Port(context.Background(), "port", Options{MaySend: true, Open: func(string, device.Serial) (device.Port, error) { opened++; return gauge, nil }})
		assert.ErrorContains(t, err, `an instrument answers *IDN? with "INVENTED,BRIDGE,7,1.0" at 9600 baud, and none of READ?, FETC? and MEAS? with a number`)
		assert.Zero(t, errors)
		assert.Equal(t, 1, opened)
	})
}

// An answer that comes too late to be taken is not taken for the next question's.
func TestALateAnswerBelongsToNoOtherQuestion(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := &lateGauge{question: "?\r", late: 700 * time.Millisecond}
		found, err := Port(context.Background(), "port", Options{MaySend: true, Bauds: []int{9600}, Listen: 50 * time.Millisecond,
			Open: func(string, device.Serial) (device.Port, error) { return p, nil }})
		assert.ErrorAs(t, err, new(*CannotTell))
		assert.Empty(t, found)
	})
}

// A lateGauge answers one question, some time after it.
type lateGauge struct {
	talker
	question string
	late     time.Duration
	due      []time.Time
	sent     int
}

func (g *lateGauge) Write(b []byte) (int, error) {
	if string(b) == g.question {
		g.due = append(g.due, time.Now().Add(g.late))
	}
	return len(b), nil
}

func (g *lateGauge) Read(b []byte) (int, error) {
	if len(g.due) == 0 || time.Until(g.due[0]) > g.timeout {
		time.Sleep(g.timeout)
		return 0, nil
	}
	time.Sleep(time.Until(g.due[0]))
	g.due = g.due[1:]
	g.sent++
	return copy(b, fmt.Sprintf("0.1%02d mm\r\n", g.sent*g.sent%100)), nil
}

// Text that cannot be told ends the search soon, with the lines and a draft.
func TestCleanTextThatCannotBeToldStops(t *testing.T) {
	for _, tt := range []struct {
		name, text, why string
		every           time.Duration
	}{
		{"words", "ready and waiting\r\n", "no number in them can be told to be the value", 100 * time.Millisecond},
		{"a clock", "12:00:00\r\n", "no number in them can be told to be the value", 100 * time.Millisecond},
		{"a few lines", "+0.123 mm\r\n", "press its key more often", 2 * time.Second},
	} {
		synctest.Test(t, func(t *testing.T) {
			begun, opened := time.Now(), 0
			d := newDripper(tt.every, func(int) []byte { return []byte(tt.text) })
			_, err := Port(context.Background(), "port", Options{MaySend: true,
				Open: func(string, device.Serial) (device.Port, error) { opened++; return d, nil }})
			var why *CannotTell
			require.ErrorAs(t, err, &why, tt.name)
			assert.Contains(t, why.Why, tt.why)
			assert.Equal(t, strings.TrimSpace(tt.text), why.Lines[0])
			assert.Less(t, time.Since(begun), 15*time.Second)
			assert.Equal(t, 1, opened, "no other speed is tried")
			require.NotNil(t, why.Draft, tt.name)
			assert.NoError(t, why.Draft.Check())
			assert.Contains(t, why.Draft.Text.Pattern, "(?P<value>")
		})
	}
}

// A gauge is known as soon as there is no doubt: the median time is held to two
// seconds. One that ends its lines with a pause alone is known too.
func TestHowLongIdentifyTakes(t *testing.T) {
	swings := swing(200)
	var took []time.Duration
	for name, form := range map[string]string{"lines": "%+.3f mm\r\n", "columns": "7;%.3f;21.5\r\n", "JSON": "{\"pos\":%.3f}\n", "pauses": "%+.3f mm"} {
		synctest.Test(t, func(t *testing.T) {
			begun := time.Now()
			every := 50 * time.Millisecond
			if name == "pauses" {
				every = 120 * time.Millisecond
			}
			d := newDripper(every, func(i int) []byte { return fmt.Appendf(nil, form, float64(swings[i%200])/1000) })
			found, err := Port(context.Background(), "port", Options{Open: d.open})
			require.NoError(t, err, name)
			require.NotEmpty(t, found)
			assert.True(t, found[0].Sure(), name)
			if name == "pauses" {
				assert.Equal(t, "idle", found[0].Profile.Text.LineEnd)
			}
			took = append(took, time.Since(begun))
		})
	}
	slices.Sort(took)
	assert.LessOrEqual(t, took[len(took)/2], 2*time.Second, "%v", took)
}

// Of two numbers that wander the one is the value that moves when it is asked to.
func TestMovingTellsTheValue(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		moving := false
		sent := func(i int) []byte {
			value := 0.0
			if moving {
				value = 2 + 2*math.Sin(float64(i)/9)
			}
			return fmt.Appendf(nil, "%.3f,%.3f\r\n", 0.5+0.05*math.Sin(float64(i)/5), value+0.05*math.Cos(float64(i)/4))
		}
		ask := func(may bool) []Proposal {
			d := newDripper(50*time.Millisecond, sent)
			found, err := Port(context.Background(), "port", Options{Open: d.open, Bauds: []int{9600}, MayMove: may,
				Progress: func(text string) { moving = strings.HasPrefix(text, "two numbers") }})
			require.NoError(t, err)
			require.NotEmpty(t, found)
			return found
		}
		assert.False(t, ask(false)[0].Sure())
		moving = false
		found := ask(true)
		assert.True(t, found[0].Sure())
		assert.Regexp(t, `,.*value`, found[0].Profile.Text.Pattern, "the second number")
	})
}

// Of a line on which another master asks it is said so, and which registers the
// answers are of; where it gets none, too.
func TestAnotherMasterOnTheLine(t *testing.T) {
	question := modbusCRC.Append([]byte{17, 3, 0, 6, 0, 1})
	var both, asked, refused []byte
	for _, c := range rocking(40) {
		answer := modbusCRC.Append(binary.BigEndian.AppendUint16([]byte{17, 3, 2}, uint16(c)))
		both = append(append(both, question...), answer...)
		asked = append(asked, question...)
		refused = append(append(refused, question...), modbusCRC.Append([]byte{17, 0x83, 2})...)

	}
	found := Bytes(both, 0)
	require.NotEmpty(t, found)
	assert.Equal(t, frame.Modbus{Address: 17, Function: 3, Register: 6, Type: "int16"}, *found[0].Profile.Modbus)
	assert.Contains(t, strings.Join(found[0].Notes, " "), "another master asks on this line")
	for _, heard := range [][]byte{asked, refused} {
		assert.Empty(t, Bytes(heard, 0), "a question is no gauge")
		gauge := &talker{streams: heard}
		_, err := Port(context.Background(), "port", Options{Bauds: []int{9600}, Listen: 20 * time.Millisecond,
			Open: func(string, device.Serial) (device.Port, error) { return gauge, nil }})
		assert.ErrorAs(t, err, new(*CannotTell))
		assert.ErrorContains(t, err, "questions of another master")
	}
}
