package device

import (
	"errors"
	"testing"
	"testing/synctest"
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
	timeouts []time.Duration
	err      error
}

func (m *modemLines) SetReadTimeout(d time.Duration) error {
	m.timeouts = append(m.timeouts, d)
	return m.err
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

// The library waits in slices, so that Close need not wait for long.
func TestTheLibraryReadsInSlices(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := &modemLines{err: errors.New("no")}
		l := &libraryLine{port: line}
		for _, d := range []time.Duration{20 * time.Millisecond, time.Second} {
			require.NoError(t, l.SetReadDeadline(time.Now().Add(d)))
			_, err := l.Read(make([]byte, 1))
			assert.Equal(t, line.err, err)
		}
		assert.Equal(t, []time.Duration{20 * time.Millisecond, readSlice}, line.timeouts)
	})
}

// A slowLine hears one byte in its third slice, and then fails.
type slowLine struct {
	serial.Port
	reads int
	err   error
}

func (l *slowLine) SetReadTimeout(time.Duration) error { return nil }

func (l *slowLine) Read(b []byte) (int, error) {
	time.Sleep(readSlice)
	l.reads++
	switch {
	case l.reads == 3:
		b[0] = 'x'
		return 1, nil
	case l.reads > 3:
		return 0, l.err
	}
	return 0, nil
}

func TestReadGoesOnOverSlices(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		buf := make([]byte, 4)
		p := NewConnPort("port", &libraryLine{port: &slowLine{err: errors.New("unplugged")}})
		n, err := p.Read(buf)
		require.NoError(t, err, "without a timeout it waits for a byte")
		assert.Equal(t, 1, n)
		_, err = p.Read(buf)
		assert.Equal(t, &PortError{Port: "port", Reason: PortGone, Err: errors.New("unplugged")}, err)
		p = NewConnPort("port", &libraryLine{port: &slowLine{}})
		require.NoError(t, p.SetReadTimeout(2*readSlice))
		n, err = p.Read(buf)
		require.NoError(t, err)
		assert.Zero(t, n, "nothing within the timeout")
		n, err = p.Read(buf)
		require.NoError(t, err)
		assert.Equal(t, 1, n)
	})
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
