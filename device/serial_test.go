package device

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
)

// TestModeIsCheckedHere and not left to the library, some of whose drivers take
// what the line cannot do.
func TestModeIsCheckedHere(t *testing.T) {
	for _, c := range []struct {
		s    Serial
		want string
	}{
		{Serial{Baud: -1}, "baud -1: want more than 0"},
		{Serial{DataBits: 4}, "data_bits 4: want 5, 6, 7 or 8"},
		{Serial{DataBits: 9}, "data_bits 9: want 5, 6, 7 or 8"},
		{Serial{DataBits: -8}, "data_bits -8: want 5, 6, 7 or 8"},
		{Serial{Parity: "sometimes"}, `parity "sometimes": want none, odd, even, mark or space`},
		{Serial{StopBits: "3"}, `stop_bits "3": want 1, 1.5 or 2`},
	} {
		mode, err := c.s.mode()
		assert.Nil(t, mode)
		assert.EqualError(t, err, c.want)
	}
}

func TestMode(t *testing.T) {
	for _, c := range []struct {
		s    Serial
		want serial.Mode
	}{
		{Serial{}, serial.Mode{BaudRate: 9600, DataBits: 8}},
		{Serial{Baud: 4800, DataBits: 7, Parity: "even", StopBits: "2"},
			serial.Mode{BaudRate: 4800, DataBits: 7, Parity: serial.EvenParity, StopBits: serial.TwoStopBits}},
		{Serial{DataBits: 5, Parity: "odd", StopBits: "1.5"},
			serial.Mode{BaudRate: 9600, DataBits: 5, Parity: serial.OddParity, StopBits: serial.OnePointFiveStopBits}},
		{Serial{Parity: "mark"}, serial.Mode{BaudRate: 9600, DataBits: 8, Parity: serial.MarkParity}},
		{Serial{Parity: "space"}, serial.Mode{BaudRate: 9600, DataBits: 8, Parity: serial.SpaceParity}},
	} {
		mode, err := c.s.mode()
		require.NoError(t, err)
		assert.Equal(t, c.want, *mode)
	}
}

// modemLines is a line that remembers how its modem signals were set.
type modemLines struct {
	serial.Port
	dtr, rts []bool
}

func (m *modemLines) SetReadTimeout(time.Duration) error { return nil }
func (m *modemLines) SetDTR(on bool) error               { m.dtr = append(m.dtr, on); return nil }
func (m *modemLines) SetRTS(on bool) error               { m.rts = append(m.rts, on); return nil }

func TestEachModemSignalIsSetAsAsked(t *testing.T) {
	on, off := true, false
	for _, c := range []struct {
		s        Serial
		dtr, rts []bool
	}{
		{Serial{}, nil, nil},
		{Serial{DTR: &on}, []bool{true}, nil},
		{Serial{RTS: &on}, nil, []bool{true}},
		{Serial{DTR: &off, RTS: &on}, []bool{false}, []bool{true}},
	} {
		line := &modemLines{}
		require.NoError(t, (&serialPort{port: line}).set(c.s))
		assert.Equal(t, c.dtr, line.dtr)
		assert.Equal(t, c.rts, line.rts)
	}
}
