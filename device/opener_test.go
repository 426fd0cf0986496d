package device

import (
	"bytes"
	"context"
	"encoding/binary"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// served starts a server on this machine that hands each connection to serve, and
// returns its address.
func served(t *testing.T, serve func(c net.Conn)) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer c.Close()
				serve(c)
			}()
		}
	}()
	return l.Addr().String()
}

// readFor reads what comes until there are n bytes, in time.
func readFor(t *testing.T, p Port, n int) string {
	t.Helper()
	require.NoError(t, p.SetReadTimeout(100*time.Millisecond))
	var got []byte
	buf := make([]byte, 64)
	for end := time.Now().Add(10 * time.Second); len(got) < n && time.Now().Before(end); {
		k, err := p.Read(buf)
		require.NoError(t, err)
		got = append(got, buf[:k]...)
	}
	return string(got)
}

func TestTCPPort(t *testing.T) {
	asked := make(chan string, 1)
	address := served(t, func(c net.Conn) {
		io.WriteString(c, "0.12 mm\r\n\xff")
		buf := make([]byte, 16)
		n, _ := c.Read(buf)
		asked <- string(buf[:n])
	})
	port, name, err := PortOpener("tcp://"+address, Serial{})(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "tcp://"+address, name)
	assert.Equal(t, "0.12 mm\r\n\xff", readFor(t, port, 10))
	start := time.Now()
	n, err := port.Read(make([]byte, 8))
	assert.Zero(t, n)
	assert.NoError(t, err, "the timeout of %v is no failure", time.Since(start))
	_, err = port.Write([]byte("?\xff"))
	require.NoError(t, err)
	assert.Equal(t, "?\xff", <-asked)
	_, err = port.Read(make([]byte, 8))
	assert.ErrorIs(t, err, &PortError{Reason: PortGone})
	require.NoError(t, port.Close())
	require.NoError(t, port.Close())
	_, err = port.Read(make([]byte, 8))
	assert.ErrorIs(t, err, &PortError{Reason: PortClosed})
	_, err = port.Write([]byte("?"))
	assert.ErrorIs(t, err, &PortError{Reason: PortClosed})
}

func TestCloseEndsAReadOfAConnection(t *testing.T) {
	hold := make(chan struct{})
	defer close(hold)
	port, _, err := PortOpener("tcp://"+served(t, func(net.Conn) { <-hold }), Serial{})(t.Context())
	require.NoError(t, err)
	time.AfterFunc(20*time.Millisecond, func() { port.Close() })
	_, err = port.Read(make([]byte, 8))
	assert.ErrorIs(t, err, &PortError{Reason: PortClosed})
}

func TestPortsThatCannotBeOpened(t *testing.T) {
	gone := served(t, func(net.Conn) {})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	l.Close()
	for name, want := range map[string]PortReason{
		"tcp://" + l.Addr().String():     PortUnreached,
		"rfc2217://" + l.Addr().String(): PortUnreached,
		"rfc2217://" + gone:              PortBadSetting,
		"tcp://localhost":                PortUnreached,
		"udp://localhost:1":              PortNotSerial,
	} {
		_, _, err := PortOpener(name, Serial{})(t.Context())
		assert.ErrorIs(t, err, &PortError{Reason: want}, name)
		assert.ErrorContains(t, err, name)
	}
	_, _, err = PortOpener("rfc2217://"+gone, Serial{Baud: -5})(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortBadSetting})
	assert.False(t, HasLine("tcp://x:1"))
	assert.True(t, HasLine("rfc2217://x:1"))
	assert.True(t, HasLine("/dev/ttyS0"))
}

// A lineServer is an invented RFC 2217 server. It reads telnet by searching the
// whole of what it got, unlike the client.
type lineServer struct {
	answers map[string]string // to commands; what is not in it is answered as asked
	first   string            // is said at once
	data    string            // is said once the line is set
	heard   chan []byte       // all that came, when the client has left
}

func (s *lineServer) serve(c net.Conn) {
	var got []byte
	io.WriteString(c, s.first)
	buf := make([]byte, 7) // commands come in pieces
	answered := 0
	for {
		n, err := c.Read(buf)
		if err != nil {
			s.heard <- got
			return
		}
		got = append(got, buf[:n]...)
		for {
			rest := got[answered:]
			if len(rest) < 3 {
				break
			}
			size := 3
			if rest[1] == 250 {
				end := bytes.Index(rest, []byte{255, 240})
				if end < 0 {
					break
				}
				size = end + 2
			}
			command := string(rest[:size])
			answered += size
			answer, given := s.answers[command]
			switch {
			case given:
			case command[1] == 251: // WILL: DO
				answer = "\xff\xfd" + command[2:]
			case command[1] == 253: // DO: WILL
				answer = "\xff\xfb" + command[2:]
			case command[1] == 250:
				answer = string(append([]byte{255, 250, command[2], command[3] + 100}, command[4:]...))
			default:
				continue
			}
			for _, b := range []byte(answer) { // and so do answers
				c.Write([]byte{b})
			}
			if command[1] == 250 && command[3] == 5 {
				io.WriteString(c, s.data)
			}
		}
	}
}

func sb2217(command byte, value ...byte) string {
	return string(append(append([]byte{255, 250, 44, command}, value...), 255, 240))
}

func TestRFC2217SetsTheLine(t *testing.T) {
	no := false
	s := &lineServer{heard: make(chan []byte, 1),
		first: "\xff\xfb\x01\xff\xfd\x18busy\xff\xff\r\n\xff\xf1", // WILL ECHO, DO TERMINAL TYPE, data and a NOP
		data:  "0.12\xff\xff mm\r\n\xff\xfa\x2c\x6a\x00\xff\xf0"}  // and a change of the line's state
	port, _, err := PortOpener("rfc2217://"+served(t, s.serve), Serial{Baud: 65280, DataBits: 7, Parity: "even", StopBits: "1.5", DTR: &no})(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "busy\xff\r\n0.12\xff mm\r\n0.12\xff mm\r\n", readFor(t, port, 26))
	n, err := port.Write([]byte("R\xff\r"))
	require.NoError(t, err)
	assert.Equal(t, 3, n)
	require.NoError(t, port.Close())
	heard := string(<-s.heard)
	baud := binary.BigEndian.AppendUint32(nil, 65280) // 00 00 FF 00: a byte like IAC in it
	assert.Contains(t, heard, sb2217(1, append(append(append([]byte{}, baud[:3]...), 255), baud[3])...))
	assert.Contains(t, heard, sb2217(2, 7)+sb2217(3, 3)+sb2217(4, 3)+sb2217(5, 1)+sb2217(5, 9)+"R\xff\xff\r")
	assert.Contains(t, heard, "\xff\xfe\x01", "no echo")
	assert.Contains(t, heard, "\xff\xfc\x18", "no terminal type")
}

func TestRFC2217ServersThatDoNotSetTheLine(t *testing.T) {
	for _, c := range []struct {
		name    string
		answers map[string]string
		want    string
		reason  PortReason
	}{
		{"no COM port", map[string]string{"\xff\xfb\x2c": "\xff\xfe\x2c"}, "has no COM port", PortBadSetting},
		{"another speed", map[string]string{sb2217(1, 0, 0, 0x25, 0x80): sb2217(101, 0, 0, 0x12, 0xC0)}, "baud: the server set 00 00 12 C0, not 00 00 25 80", PortBadSetting},
		{"another parity", map[string]string{sb2217(3, 1): sb2217(103, 3)}, "parity: the server set 03, not 01", PortBadSetting},
		{"bytes are changed", map[string]string{"\xff\xfb\x00": "\xff\xfe\x00"}, "does not hand bytes on as they are", PortBadSetting},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &lineServer{heard: make(chan []byte, 1), answers: c.answers}
			_, _, err := PortOpener("rfc2217://"+served(t, s.serve), Serial{})(t.Context())
			assert.ErrorContains(t, err, c.want)
			assert.ErrorIs(t, err, &PortError{Reason: c.reason})
			<-s.heard // the connection was given up
		})
	}
}

func TestRFC2217ServerThatIsSilent(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for its whole patience")
	}
	hold := make(chan struct{})
	defer close(hold)
	start := time.Now()
	_, _, err := PortOpener("rfc2217://"+served(t, func(net.Conn) { <-hold }), Serial{})(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortBadSetting})
	assert.ErrorContains(t, err, "no answer about its COM port")
	assert.InDelta(t, dialPatience.Seconds(), time.Since(start).Seconds(), 1)
}

// The commands of a server never become data, in whatever pieces they come.
func FuzzTelnet(f *testing.F) {
	f.Add([]byte("0.12\xff\xff\xff\xfb\x01\xff\xfa\x2c\x65\x00\x00\x25\x80\xff\xf0 mm"), 1)
	f.Add([]byte("\xff\xfa\x2c\xff\xff\xff\xf0\xff"), 2)
	f.Add([]byte("a\xff\xfa\x2c\x64"+strings.Repeat("long", 40)+"\xff\xf0b"), 3)
	f.Fuzz(func(t *testing.T, stream []byte, size int) {
		size = max(1, size%9)
		read := func(size int) string {
			ours, theirs := net.Pipe()
			defer ours.Close()
			go io.Copy(io.Discard, theirs)
			c := &telnetConn{Conn: ours, agreed: map[byte]bool{}, set: map[byte][]byte{}}
			var data []byte
			for at := 0; at < len(stream); at += size {
				piece := bytes.Clone(stream[at:min(at+size, len(stream))])
				data = append(data, piece[:c.strip(piece)]...)
			}
			return string(data)
		}
		assert.Equal(t, read(len(stream)+1), read(size))
		if before, rest, ok := bytes.Cut(stream, []byte("\xff\xfa")); ok && !bytes.Contains(before, []byte{iac}) {
			if _, after, ok := bytes.Cut(rest, []byte("\xff\xf0")); ok && !bytes.Contains(after, []byte{iac}) && bytes.Count(rest, []byte{iac}) == 1 {
				assert.Equal(t, string(before)+string(after), read(size), "a parameter is no data, however long it is")
			}
		}
		if !bytes.Contains(stream, []byte{iac}) {
			assert.Equal(t, string(stream), read(size))
		}
	})
}

// A gauge on the network goes away and comes back as one on a cable does.
func TestAGaugeOnTheNetwork(t *testing.T) {
	say := make(chan string)
	address := served(t, func(c net.Conn) {
		for text := range say {
			if text == "" {
				return
			}
			io.WriteString(c, text)
		}
	})
	ctx, cancel := context.WithCancel(t.Context())
	events, done := make(chan Event, 16), make(chan error, 1)
	go func() {
		done <- NewGauge("dial", Profile{Frame: FrameText, Unit: "mm"}, PortOpener("tcp://"+address, Serial{}), time.Now).Run(ctx, events)
	}()
	say <- "+0.12 mm\r\n+0.13 mm\r\n"
	assert.Equal(t, 0.12, (<-events).Reading.Value)
	assert.Equal(t, 0.13, (<-events).Reading.Value)
	say <- ""
	assert.Equal(t, EventLost, (<-events).Kind)
	assert.Equal(t, EventBack, (<-events).Kind)
	say <- "+0.14 mm\r\n"
	assert.Equal(t, 0.14, (<-events).Reading.Value)
	cancel()
	assert.NoError(t, <-done)
	close(say)
}
