package device

import (
	"errors"
	"testing"

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
		{Serial{Flow: "on"}, `flow "on": want none, rts-cts or xon-xoff`},
		{Serial{Flow: "rts-cts", RTS: new(bool)}, `flow "rts-cts": want no level of rts beside it, which it drives`},
		{Serial{StopBits: "3"}, `stop_bits "3": want 1, 1.5 or 2`},
	} {
		_, err := c.s.mode()
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

func (m *modemLines) SetDTR(on bool) error { m.dtr = append(m.dtr, on); return nil }
func (m *modemLines) SetRTS(on bool) error { m.rts = append(m.rts, on); return nil }

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
		require.NoError(t, setSignals(line, c.s))
		assert.Equal(t, c.dtr, line.dtr)
		assert.Equal(t, c.rts, line.rts)
	}
}

func TestPortErrorText(t *testing.T) {
	cause := errors.New("cause")
	bare, whole := &PortError{Port: "p", Reason: PortBusy}, &PortError{Port: "p", Reason: PortFailed, Err: cause}
	assert.EqualError(t, bare, `"p": port is in use by another program`)
	assert.EqualError(t, whole, `"p": port failed: cause`)
	assert.ErrorIs(t, whole, cause)
	assert.ErrorIs(t, whole, &PortError{})
	assert.NotErrorIs(t, whole, &PortError{Reason: PortBusy})
	assert.NotErrorIs(t, bare, cause)
}
