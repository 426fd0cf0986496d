package device

import (
	"context"
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A fakeKeyboards is an invented tree of input devices, whose nodes are named
// pipes: this stands for the kernel's, which needs uinput to be made up.
type fakeKeyboards struct {
	keyboardTree
	grabbed []string
}

func newKeyboards(t *testing.T) *fakeKeyboards {
	k := &fakeKeyboards{}
	root := t.TempDir()
	k.sys, k.dev = filepath.Join(root, "class"), filepath.Join(root, "dev")
	k.grab = func(f *os.File) error { k.grabbed = append(k.grabbed, filepath.Base(f.Name())); return nil }
	require.NoError(t, os.MkdirAll(k.sys, 0o755))
	require.NoError(t, os.MkdirAll(k.dev, 0o755))
	return k
}

// plug makes the device of an event node in a socket and returns its hand.
func (k *fakeKeyboards) plug(t *testing.T, event, socket, vendor, product, keys string) *os.File {
	t.Helper()
	device := filepath.Join(filepath.Dir(k.sys), "devices", socket, "0003:"+vendor+":"+product, "input", event)
	usb := filepath.Join(filepath.Dir(k.sys), "devices", filepath.Dir(socket))
	files := map[string]string{filepath.Join(device, "capabilities/key"): keys}
	if strings.Contains(socket, ":") {
		files[filepath.Join(usb, "idVendor")], files[filepath.Join(usb, "idProduct")], files[filepath.Join(usb, "product")] = vendor, product, "Cable"
	}
	for path, text := range files {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text+"\n"), 0o644))
	}
	require.NoError(t, os.MkdirAll(filepath.Join(k.sys, event), 0o755))
	require.NoError(t, os.Symlink(device, filepath.Join(k.sys, event, "device")))
	require.NoError(t, unix.Mkfifo(filepath.Join(k.dev, event), 0o600))
	hand, err := os.OpenFile(filepath.Join(k.dev, event), os.O_RDWR, 0)
	require.NoError(t, err)
	t.Cleanup(func() { hand.Close() })
	return hand
}

func (k *fakeKeyboards) unplug(t *testing.T, event string) {
	t.Helper()
	require.NoError(t, os.RemoveAll(filepath.Join(k.sys, event)))
}

const allKeys = "7 ff9f207ac14057ff febeffdfffefffff fffffffffffffffe"

// event is one event of the kernel.
func event(kind, code uint16, value uint32) []byte {
	b := make([]byte, eventTime, eventSize)
	b = binary.NativeEndian.AppendUint16(b, kind)
	b = binary.NativeEndian.AppendUint16(b, code)
	return binary.NativeEndian.AppendUint32(b, value)
}

// press presses keys and lets them go, with the events between that a device sends.
func press(codes ...uint16) []byte {
	var b []byte
	for _, c := range codes {
		b = append(b, event(4, 4, 458782)...) // a scan code
		b = append(b, event(1, c, 1)...)
		b = append(b, event(0, 0, 0)...)
		b = append(b, event(1, c, 0)...)
		b = append(b, event(0, 0, 0)...)
	}
	return b
}

func TestWhatKeysType(t *testing.T) {
	k := newKeyboards(t)
	hand := k.plug(t, "event5", "1-4/1-4:1.0", "04d9", "a0cd", allKeys)
	port, name, err := k.follow("keyboard:04D9:A0CD").next(t.Context())
	require.NoError(t, err)
	defer port.Close()
	assert.Equal(t, "keyboard:04D9:A0CD", name)
	assert.Equal(t, []string{"event5"}, k.grabbed, "nobody else sees what it types")
	for _, c := range []struct {
		name string
		keys []byte
		want string
	}{
		{"digits and Enter", press(11, 52, 2, 3, 4, 28), "0.123\n"},
		{"a sign, and Tab", press(12, 11, 51, 10, 15), "-0,9\n"},
		{"the keypad", press(82, 83, 79, 80, 81, 75, 76, 77, 71, 72, 73, 74, 78, 55, 98, 96), "0.123456789-+*/\n"},
		{"shift", append(append(event(1, 42, 1), press(13, 30)...), append(event(1, 42, 0), press(30)...)...), "+Aa"},
		{"locks type nothing", press(58, 69, 70, 29, 56, 97, 100, 125, 2), "1"},
		{"a key held is one", append(event(1, 2, 1), append(event(1, 2, 2), press(3)...)...), "12"},
		{"a key without a text spoils the line", press(2, 59, 3, 28), "1\x002\n"},
		{"lost keys spoil the line", append(append(press(2), event(0, 3, 0)...), press(3)...), "1\x002"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := hand.Write(c.keys)
			require.NoError(t, err)
			assert.Equal(t, c.want, readFor(t, port, len(c.want)))
		})
	}
	require.NoError(t, port.SetReadTimeout(20*time.Millisecond))
	n, err := port.Read(make([]byte, 8))
	assert.Zero(t, n)
	assert.NoError(t, err)
	n, err = port.Read(make([]byte, 0))
	assert.Zero(t, n)
	assert.NoError(t, err)
}

func TestCablesThatTypeAreKnownByTheirUSBIdentity(t *testing.T) {
	k := newKeyboards(t)
	k.plug(t, "event0", "platform/i8042", "0001", "0001", allKeys)
	k.plug(t, "event1", "1-2/1-2:1.1", "04d9", "a0cd", "1f 0") // its volume keys
	k.plug(t, "event2", "1-2/1-2:1.0", "04d9", "a0cd", allKeys)
	ports, err := k.list()
	require.NoError(t, err)
	assert.Equal(t, []PortInfo{{Name: "keyboard:04D9:A0CD@1-2:1.0", USB: true, Vendor: "04D9", Product: "A0CD", Title: "Cable", Path: "1-2:1.0"}}, ports)

	f := k.follow("keyboard:04d9:a0cd")
	port, _, err := f.next(t.Context())
	require.NoError(t, err)
	require.NoError(t, port.Close())
	_, _, err = k.follow("keyboard:04D9:FFFF").next(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortMissing})

	// A second of its kind: by its socket alone.
	k.plug(t, "event7", "1-3/1-3:1.0", "04d9", "a0cd", allKeys)
	_, _, err = k.follow("keyboard:04D9:A0CD").next(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortTwin})
	port, _, err = k.follow("keyboard:04D9:A0CD@1-3:1.0").next(t.Context())
	require.NoError(t, err)
	require.NoError(t, port.Close())
	port, name, err := f.next(t.Context())
	require.NoError(t, err)
	require.NoError(t, port.Close())
	assert.Equal(t, "keyboard:04D9:A0CD@1-2:1.0", name, "the one that was open")
	assert.Equal(t, []string{"event2", "event7", "event2"}, k.grabbed)

	// And never the twin for the one that went away.
	k.unplug(t, "event2")
	_, _, err = f.next(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortTwin})
	k.unplug(t, "event7")
	_, _, err = f.next(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortMissing})
}

func TestACableThatCannotBeGrabbed(t *testing.T) {
	k := newKeyboards(t)
	k.plug(t, "event5", "1-4/1-4:1.0", "04d9", "a0cd", allKeys)
	k.grab = func(*os.File) error { return unix.EBUSY }
	_, _, err := k.follow("keyboard:04D9:A0CD").next(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortBusy})
	k.grab = grabInput
	_, _, err = k.follow("keyboard:04D9:A0CD").next(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortNotSerial}, "a pipe is no input device")
	require.NoError(t, os.Remove(filepath.Join(k.dev, "event5")))
	_, _, err = k.follow("keyboard:04D9:A0CD").next(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortMissing})
}

// One burst of keys is one reading, sent at a press; a garbled one is told.
func TestReadingsOfACableThatTypes(t *testing.T) {
	k := newKeyboards(t)
	hand := k.plug(t, "event5", "1-4/1-4:1.0", "04d9", "a0cd", allKeys)
	ctx, cancel := context.WithCancel(t.Context())
	events, done := make(chan Event, 16), make(chan error, 1)
	const name = "keyboard:04D9:A0CD"
	p := Profile{Frame: FrameText, Unit: "mm"}.On(name)
	go func() { done <- NewGauge("dial", p, k.follow(name).next, time.Now).Run(ctx, events) }()
	hand.Write(append(press(11, 52, 2, 28), press(11, 52, 3, 15)...))
	for _, want := range []float64{0.1, 0.2} {
		ev := <-events
		assert.Equal(t, want, ev.Reading.Value)
		assert.Equal(t, []string{"press"}, ev.Reading.Flags.Words())
	}
	hand.Write(press(11, 52, 59, 2, 28))
	assert.True(t, strings.HasPrefix((<-events).Text, "NUL in the line"))
	cancel()
	require.NoError(t, <-done)
	assert.Equal(t, "", Profile{Mode: ModeAsked}.On(name).Sends)
	assert.Equal(t, "", Profile{}.On("/dev/ttyUSB0").Sends)
	_, _, err := PortOpener("keyboard:0000:0000", Serial{})(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortMissing}, "none of this computer's")
	for _, p := range Keyboards() {
		assert.True(t, strings.HasPrefix(p.Name, "keyboard:"), p.Name)
	}
}
