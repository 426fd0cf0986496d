package device

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"net"
	"time"
)

// Telnet commands and options, and those of the COM port.
// Source: RFC 854; RFC 856 (binary); RFC 858 (no go-ahead); RFC 2217.
const (
	iac, dont, do, wont, will, sb, se = 255, 254, 253, 252, 251, 250, 240

	optBinary, optNoGoAhead, optComPort = 0, 3, 44

	setBaud, setDataSize, setParity, setStopSize, setControl = 1, 2, 3, 4, 5

	comAnswer = 100 // is added to a command in the answer to it
)

// comSettings names the commands for a message.
var comSettings = map[byte]string{setBaud: "baud", setDataSize: "data_bits", setParity: "parity", setStopSize: "stop_bits", setControl: "control lines"}

// longestCommand bounds what is kept of a command of the server; those of a COM
// port have six bytes.
const longestCommand = 64

// A telnetConn is a connection to a serial line by telnet, whose commands are no
// part of what it reads and writes.
type telnetConn struct {
	net.Conn
	within  func(c byte) bool // takes the next byte, and reports whether it is data; nil: it is
	command []byte            // under way
	quoted  bool              // IAC came in it
	agreed  map[byte]bool     // options of ours that were answered, and whether yes
	set     map[byte][]byte   // what the server answered to a setting
	early   []byte            // data that came while the line was set
}

// Read implements net.Conn.
func (t *telnetConn) Read(b []byte) (int, error) {
	if n := copy(b, t.early); n > 0 {
		t.early = t.early[n:]
		return n, nil
	}
	for {
		n, err := t.Conn.Read(b)
		if n = t.strip(b[:n]); n > 0 || err != nil {
			return n, err
		}
	}
}

// Write implements net.Conn.
func (t *telnetConn) Write(b []byte) (int, error) {
	if _, err := t.Conn.Write(bytes.ReplaceAll(b, []byte{iac}, []byte{iac, iac})); err != nil {
		return 0, err
	}
	return len(b), nil
}

// strip heeds the commands in b, moves the data to its front and returns how many
// bytes those are.
func (t *telnetConn) strip(b []byte) int {
	kept := 0
	for _, c := range b {
		if t.within == nil && c == iac {
			t.within = t.begin
		} else if t.within == nil || t.within(c) {
			b[kept] = c
			kept++
		}
	}
	return kept
}

// begin takes the byte after IAC.
func (t *telnetConn) begin(c byte) (data bool) {
	t.command, t.within = append(t.command[:0], c), nil
	switch c {
	case will, wont, do, dont:
		t.within = t.option
	case sb:
		t.within = t.parameter
	}
	return c == iac
}

// option takes the option of a command. What we have not asked for is declined.
func (t *telnetConn) option(c byte) bool {
	verb := t.command[0]
	t.within = nil
	switch {
	case c == optBinary, c == optComPort:
		yes, before := t.agreed[c]
		t.agreed[c] = (verb == do || verb == will) && (yes || !before)
	case c == optNoGoAhead:
	case verb == do:
		t.Conn.Write([]byte{iac, wont, c})
	case verb == will:
		t.Conn.Write([]byte{iac, dont, c})
	}
	return false
}

// parameter takes the bytes between SB and SE.
func (t *telnetConn) parameter(c byte) bool {
	switch quoted := t.quoted; {
	case c == iac && !quoted:
		t.quoted = true
		return false
	case c == se && quoted:
		t.within = nil
		if p := t.command[1:]; len(p) > 2 && p[0] == optComPort {
			t.set[p[1]-comAnswer] = bytes.Clone(p[2:])
		}
	case len(t.command) < longestCommand:
		t.command = append(t.command, c)
	}
	t.quoted = false
	return false
}

// setLine agrees on bytes as they are and a COM port, sets its line and waits until
// the server says that it is set so.
func (t *telnetConn) setLine(s Serial) error {
	m, err := s.mode()
	if err != nil {
		return &PortError{Reason: PortBadSetting, Err: err}
	}
	t.agreed, t.set = map[byte]bool{}, map[byte][]byte{}
	if err := t.SetDeadline(time.Now().Add(dialPatience)); err != nil {
		return err
	}
	hello := []byte{iac, will, optBinary, iac, do, optBinary, iac, do, optNoGoAhead, iac, will, optComPort}
	if _, err := t.Conn.Write(hello); err != nil {
		return err
	}
	if err := t.await(func() bool { _, said := t.agreed[optComPort]; return said }); err != nil {
		return fmt.Errorf("no answer about its COM port (RFC 2217): %w", err)
	}
	if !t.agreed[optComPort] {
		return &PortError{Reason: PortBadSetting, Err: fmt.Errorf("the server has no COM port (RFC 2217); tcp:// takes its line as it is")}
	}
	wanted := [][]byte{
		binary.BigEndian.AppendUint32([]byte{setBaud}, uint32(m.BaudRate)),
		{setDataSize, byte(m.DataBits)},
		{setParity, 1 + byte(m.Parity)}, // none, odd, even, mark, space in both
		{setStopSize, []byte{1, 3, 2}[m.StopBits]},
		{setControl, 1}, // no flow control
	}
	for on, level := range map[byte]*bool{8: s.DTR, 11: s.RTS} {
		if level != nil && *level {
			wanted = append(wanted, []byte{setControl, on})
		} else if level != nil {
			wanted = append(wanted, []byte{setControl, on + 1})
		}
	}
	for _, w := range wanted {
		command, value := w[0], w[1:]
		delete(t.set, command)
		b := bytes.ReplaceAll(w, []byte{iac}, []byte{iac, iac})
		if _, err := t.Conn.Write(append(append([]byte{iac, sb, optComPort}, b...), iac, se)); err != nil {
			return err
		}
		if err := t.await(func() bool { return t.set[command] != nil }); err != nil {
			return fmt.Errorf("no answer to the setting of %s: %w", comSettings[command], err)
		}
		if got := t.set[command]; !bytes.Equal(got, value) {
			return &PortError{Reason: PortBadSetting, Err: fmt.Errorf("%s: the server set % X, not % X", comSettings[command], got, value)}
		}
	}
	if !t.agreed[optBinary] {
		return &PortError{Reason: PortBadSetting, Err: fmt.Errorf("the server does not hand bytes on as they are")}
	}
	return t.SetDeadline(time.Time{})
}

// await reads until something is so, and keeps the data that comes meanwhile.
func (t *telnetConn) await(so func() bool) error {
	buf := make([]byte, readSize)
	for !so() {
		n, err := t.Conn.Read(buf)
		t.early = append(t.early, buf[:t.strip(buf[:n])]...)
		if err != nil {
			return err
		}
	}
	return nil
}
