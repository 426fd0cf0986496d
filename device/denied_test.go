//go:build linux

package device

import (
	"errors"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// TestNoPermission opens a port that belongs to somebody else. The
// administrator may open everything, so the test then runs itself again as
// another user.
func TestNoPermission(t *testing.T) {
	if path := os.Getenv("CROWNLOG_DENIED_PORT"); path != "" {
		_, err := openAny(path, Serial{})
		var pe *PortError
		require.True(t, errors.As(err, &pe), "%v", err)
		assert.Equal(t, PortDenied, pe.Reason)
		assert.Empty(t, pe.Group, "joining a group that may not use the port either is no help")
		return
	}
	if os.Getuid() != 0 {
		t.Skip("only the administrator can make a port that is somebody else's")
	}
	p := newPeer(t)
	require.NoError(t, os.Chmod(p.slave.Name(), 0o600))
	self, err := os.Executable()
	require.NoError(t, err)
	fd, err := unix.Open(self, unix.O_RDONLY|unix.O_CLOEXEC, 0)
	require.NoError(t, err)
	exe := os.NewFile(uintptr(fd), self)
	defer exe.Close()
	cmd := exec.Command("/proc/self/fd/3", "-test.run=^TestNoPermission$") // the folder may be closed to the other user
	cmd.ExtraFiles = []*os.File{exe}
	cmd.Dir = "/"
	cmd.Env = append(os.Environ(), "CROWNLOG_DENIED_PORT="+p.slave.Name())
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	out, err := cmd.CombinedOutput()
	assert.NoError(t, err, "%s", out)
	runtime.KeepAlive(exe)
}

// A program that asks for no lock is kept off too, unless the administrator runs it.
func TestAnOpenPortIsNobodyElses(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only the administrator can run a program for somebody else")
	}
	p := newPeer(t)
	require.NoError(t, os.Chmod(p.slave.Name(), 0o666))
	taken := func() error {
		c := exec.Command("/bin/sh", "-c", ": <"+p.slave.Name())
		c.Dir, c.SysProcAttr = "/", &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		return c.Run()
	}
	require.NoError(t, taken())
	port, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	assert.Error(t, taken())
	require.NoError(t, port.Close())
	assert.NoError(t, taken(), "also where somebody else has it open all the time")
}

func TestDeniedPortNamesTheGroupToJoin(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only the administrator can give a file to any group")
	}
	path := filepath.Join(t.TempDir(), "port")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	group, err := user.LookupGroupId("1")
	require.NoError(t, err)
	for _, c := range []struct {
		gid  int
		mode os.FileMode
		want string
	}{
		{1, 0o660, group.Name},
		{1, 0o600, ""},
		{1, 0o640, ""},
		{1, 0o606, ""},
		{0, 0o660, ""},
		{54321, 0o660, ""},
	} {
		require.NoError(t, os.Chown(path, 0, c.gid))
		require.NoError(t, os.Chmod(path, c.mode))
		assert.Equal(t, c.want, deviceGroup(path), "group %d, mode %o", c.gid, c.mode)
	}
}
