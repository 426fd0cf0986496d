package device

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"net"
	"slices"
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
	command []byte          // under way
	agreed  map[byte]bool   // options of ours that were answered, and whether yes
	set     map[byte][]byte // what the server answered to a setting
	early   []byte          // data that came while the line was set
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
		t.command = append(t.command, c)
		switch {
		case t.command[0] != iac, string(t.command) == "\xff\xff": // data, which is IAC where it comes twice
			b[kept] = c
			kept++
		case !t.heed(t.command):
			continue
		}
		t.command = t.command[:0]
	}
	return kept
}

// heed does what a command says and reports whether it is over. What we have not
// asked for is declined.
func (t *telnetConn) heed(c []byte) bool {
	n := len(c)
	switch {
	case n < 2, c[1] >= will && c[1] < iac && n < 3:
		return false
	case c[1] == sb:
		quotes := 0
		for c[n-2-quotes] == iac && n > 2 {
			quotes++
		}
		if c[n-1] != se || quotes%2 == 0 { // IAC twice is a byte of the parameter
			if n > longestCommand {
				t.command = slices.Delete(c, 4, 5)
			}
			return false
		}
		if p := bytes.ReplaceAll(c[2:n-2], []byte{iac, iac}, []byte{iac}); len(p) > 2 && p[0] == optComPort {
			t.set[p[1]-comAnswer] = p[2:]
		}
	case n == 2, c[2] == optNoGoAhead:
	case c[2] == optBinary, c[2] == optComPort:
		yes, before := t.agreed[c[2]]
		t.agreed[c[2]] = (c[1] == do || c[1] == will) && (yes || !before)
	case c[1] == do:
		t.Conn.Write([]byte{iac, wont, c[2]})
	case c[1] == will:
		t.Conn.Write([]byte{iac, dont, c[2]})
	}
	return true
}

// setLine agrees on bytes as they are and a COM port, sets its line and waits until
// the server says that it is set so.
func (t *telnetConn) setLine(s Serial) error {
	m, err := s.mode()
	if err != nil {
		return err
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
		return fmt.Errorf("the server has no COM port (RFC 2217); tcp:// takes its line as it is")
	}
	wanted := [][]byte{
		binary.BigEndian.AppendUint32([]byte{setBaud}, uint32(m.BaudRate)),
		{setDataSize, byte(m.DataBits)},
		{setParity, 1 + byte(m.Parity)}, // none, odd, even, mark, space in both
		{setStopSize, []byte{1, 3, 2}[m.StopBits]},
		{setControl, max(1, map[string]byte{FlowSoftware: 2, FlowHardware: 3}[s.Flow])}, // 1: none,
	}
	for on, level := range map[byte]*bool{8: s.DTR, 11: s.RTS} {
		if level != nil {
			wanted = append(wanted, []byte{setControl, map[bool]byte{true: on, false: on + 1}[*level]})
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
			return fmt.Errorf("%s: the server set % X, not % X", comSettings[command], got, value)
		}
	}
	if !t.agreed[optBinary] {
		return fmt.Errorf("the server does not hand bytes on as they are")
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
