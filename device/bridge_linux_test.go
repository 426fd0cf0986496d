package device

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// bridged starts a program that bridges a pseudo-terminal to a port of this
// machine, with the arguments that args makes of both, and returns the gauge's end
// of the line and the address. It skips where the program is not installed.
func bridged(t *testing.T, program string, args func(line, port string) []string) (gauge, line *os.File, address string) {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		path, err = exec.LookPath("/usr/sbin/" + program)
	}
	if err != nil {
		t.Skipf("%s is not installed here", program)
	}
	gauge, line, err = pty.Open()
	require.NoError(t, err)
	_, err = term.MakeRaw(int(line.Fd()))
	require.NoError(t, err)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address = l.Addr().String()
	_, port, _ := net.SplitHostPort(address)
	l.Close()
	c := exec.Command(path, args(line.Name(), port)...)
	c.Stdout, c.Stderr = os.Stderr, os.Stderr
	require.NoError(t, c.Start())
	t.Cleanup(func() {
		c.Process.Kill()
		c.Wait()
		gauge.Close()
		line.Close()
	})
	return gauge, line, address
}

// opened opens a port that a program is about to make.
func opened(t *testing.T, name string, s Serial) Port {
	t.Helper()
	var err error
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		var port Port
		if port, _, err = PortOpener(name, s)(t.Context()); err == nil {
			t.Cleanup(func() { port.Close() })
			return port
		}
	}
	require.NoError(t, err)
	return nil
}

// talk sends all bytes both ways.
func talk(t *testing.T, gauge *os.File, port Port) {
	t.Helper()
	var all []byte
	for c := range 256 {
		all = append(all, byte(c))
	}
	_, err := gauge.Write(all)
	require.NoError(t, err)
	assert.Equal(t, string(all), readFor(t, port, 256))
	_, err = port.Write(all)
	require.NoError(t, err)
	require.NoError(t, gauge.SetReadDeadline(time.Now().Add(10*time.Second)))
	var got []byte
	buf := make([]byte, 256)
	for len(got) < 256 {
		n, err := gauge.Read(buf)
		require.NoError(t, err, "after %d bytes", len(got))
		got = append(got, buf[:n]...)
	}
	assert.Equal(t, all, got)
}

func TestTCPThroughSocat(t *testing.T) {
	gauge, _, address := bridged(t, "socat", func(line, port string) []string {
		return []string{"TCP-LISTEN:" + port + ",bind=127.0.0.1,reuseaddr", line + ",raw,echo=0"}
	})
	talk(t, gauge, opened(t, "tcp://"+address, Serial{}))
}

func TestRFC2217ThroughSer2net(t *testing.T) {
	config := filepath.Join(t.TempDir(), "ser2net.yaml")
	gauge, line, address := bridged(t, "ser2net", func(line, port string) []string {
		text := fmt.Sprintf("connection: &gauge\n  accepter: telnet(rfc2217),tcp,127.0.0.1,%s\n  connector: serialdev,%s,9600n81,local\n", port, line)
		require.NoError(t, os.WriteFile(config, []byte(text), 0o600))
		return []string{"-n", "-c", config}
	})
	speed := func() uint32 {
		settings, err := unix.IoctlGetTermios(int(line.Fd()), unix.TCGETS2)
		require.NoError(t, err)
		return settings.Ospeed
	}
	port := opened(t, "rfc2217://"+address, Serial{Baud: 4800, StopBits: "2"})
	assert.EqualValues(t, 4800, speed(), "the line is really set")
	talk(t, gauge, port)
	require.NoError(t, port.Close())
	port = opened(t, "rfc2217://"+address, Serial{Baud: 115200, Flow: "xon-xoff"})
	assert.EqualValues(t, 115200, speed(), "and set anew")
	settings, err := unix.IoctlGetTermios(int(line.Fd()), getTermios)
	require.NoError(t, err)
	assert.EqualValues(t, unix.IXON|unix.IXOFF, settings.Iflag&(unix.IXON|unix.IXOFF))
	require.NoError(t, port.Close())
	port = opened(t, "rfc2217://"+address, Serial{Baud: 115200})
	talk(t, gauge, port)
}
