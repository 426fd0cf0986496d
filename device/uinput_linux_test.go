package device

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// What an input device of the kernel types is read here and by nobody else. Its device
// is made up with uinput, where there is one.
// Source: the kernel's uinput.h, UI_SET_EVBIT, UI_SET_KEYBIT, UI_DEV_SETUP,
// UI_DEV_CREATE, UI_GET_SYSNAME.
func TestAGrabbedInputDeviceTypesForNobodyElse(t *testing.T) {
	const setKind, setKey, setUp, create, sysName = 0x40045564, 0x40045565, 0x405c5503, 0x5501, 0x8040552c
	hand, err := os.OpenFile("/dev/uinput", os.O_RDWR|unix.O_NONBLOCK, 0)
	if err != nil {
		t.Skipf("no input device can be made up here: %v", err)
	}
	defer hand.Close()
	fd := int(hand.Fd())
	require.NoError(t, unix.IoctlSetInt(fd, setKind, kindKey))
	for key := range 64 {
		require.NoError(t, unix.IoctlSetInt(fd, setKey, key+1))
	}
	ioctl := func(request uintptr, at unsafe.Pointer) {
		_, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(fd), request, uintptr(at))
		require.Zero(t, errno, errno.Error())
	}
	var setup [92]byte // bus, vendor, product, version; name; effects
	copy(setup[8:], "invented cable")
	ioctl(setUp, unsafe.Pointer(&setup))
	ioctl(create, nil)
	var name [64]byte
	ioctl(sysName, unsafe.Pointer(&name))
	dir := filepath.Join("/sys/devices/virtual/input", unix.ByteSliceToString(name[:]))
	var node string
	require.Eventually(t, func() bool { // the node is made by another program
		found, _ := filepath.Glob(filepath.Join(dir, "event*"))
		if len(found) == 1 {
			node = filepath.Join("/dev/input", filepath.Base(found[0]))
		}
		_, err := os.Stat(node)
		return err == nil
	}, 5*time.Second, 10*time.Millisecond)

	other, err := os.OpenFile(node, os.O_RDONLY|unix.O_NONBLOCK, 0)
	require.NoError(t, err)
	defer other.Close()
	mine, err := os.OpenFile(node, os.O_RDONLY|unix.O_NONBLOCK, 0)
	require.NoError(t, err)
	require.NoError(t, grabInput(mine))
	port := NewConnPort(node, &typing{File: mine})
	defer port.Close()
	for b := press(11, 52, 2, 3, 28); len(b) > 0; b = b[eventSize:] {
		if kind := binary.NativeEndian.Uint16(b[eventTime:]); kind == kindKey || kind == kindSync {
			_, err := hand.Write(b[:eventSize])
			require.NoError(t, err)
		}
	}
	assert.Equal(t, "0.12\n", readFor(t, port, 5))
	require.NoError(t, other.SetReadDeadline(time.Now().Add(50*time.Millisecond)))
	n, err := other.Read(make([]byte, 64*eventSize))
	assert.Zero(t, n)
	assert.ErrorIs(t, err, os.ErrDeadlineExceeded)
}
