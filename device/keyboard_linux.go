package device

import (
	"cmp"
	"encoding/binary"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"golang.org/x/sys/unix"
)

// A keyboardTree is where the kernel keeps its input devices.
type keyboardTree struct {
	sys, dev string
	grab     func(f *os.File) error // keeps what it types from everybody else
}

var systemKeyboards = keyboardTree{"/sys/class/input", "/dev/input", grabInput}

// Keyboards returns the USB devices that type, cables of gauges and keyboards
// alike, with names to open. It opens none of them.
func Keyboards() []PortInfo {
	ports, _ := systemKeyboards.list() // without an error
	return ports
}

// keyboardOpener follows a cable as a serial port is followed.
func keyboardOpener(name string) Opener { return systemKeyboards.follow(name).next }

func (k keyboardTree) follow(name string) *follower {
	return &follower{name: name, info: k.info, list: k.list, open: k.open}
}

// nodes returns the devices that a name fits, all for "", and the node of each.
func (k keyboardTree) nodes(name string) (ports []PortInfo, nodes []string) {
	events, _ := filepath.Glob(filepath.Join(k.sys, "event*")) // none are no keyboards
	for _, event := range events {
		p, _ := sysfsPort(k.sys, filepath.Base(event))
		// A mouse or a volume knob of the same device has no digits: the last word has
		// the keys 0 to 63.
		const digitAndEnter = 1<<2 | 1<<28
		keys := attribute(filepath.Join(event, "device"), "capabilities/key")
		low, _ := strconv.ParseUint(keys[strings.LastIndex(keys, " ")+1:], 16, 64)
		if !p.USB || low&digitAndEnter != digitAndEnter {
			continue
		}
		short := keyboardScheme + p.Vendor + ":" + p.Product
		p.Name = short + "@" + p.Path
		if name == "" || name == p.Name || strings.EqualFold(name, short) {
			ports, nodes = append(ports, p), append(nodes, filepath.Join(k.dev, filepath.Base(event)))
		}
	}
	return ports, nodes
}

func (k keyboardTree) list() ([]PortInfo, error) {
	ports, _ := k.nodes("")
	return ports, nil
}

// info describes the one device that the name fits.
func (k keyboardTree) info(name string) (PortInfo, bool) {
	ports, _ := k.nodes(name)
	if len(ports) != 1 {
		return PortInfo{}, false
	}
	return ports[0], true
}

// open opens the one device that the name fits, for this program alone.
func (k keyboardTree) open(name string, _ origin) (Port, origin, error) {
	ports, nodes := k.nodes(name)
	if len(nodes) != 1 {
		reason := PortMissing
		if len(nodes) > 1 {
			reason = PortTwin
		}
		return nil, origin{}, &PortError{Port: name, Reason: reason}
	}
	f, err := os.OpenFile(nodes[0], os.O_RDONLY|unix.O_NONBLOCK, 0)
	if err == nil {
		if err = k.grab(f); err == nil {
			return NewConnPort(ports[0].Name, &typing{File: f}), origin{}, nil
		}
		f.Close()
	}
	return nil, origin{}, openError(nodes[0], err)
}

// grabInput keeps what an input device types from every other program.
// Source: the kernel's input.h, EVIOCGRAB.
func grabInput(f *os.File) error {
	const grab = 0x40044590
	raw, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var grabErr error
	err = raw.Control(func(fd uintptr) { grabErr = unix.IoctlSetInt(int(fd), grab, 1) })
	return cmp.Or(err, grabErr)
}

// typing is an input device whose keys are read as text. The keys are those of the
// cable, whatever layout this computer has: digits and signs as on a US keyboard,
// for which such cables are made. Enter and Tab end a line.
type typing struct {
	*os.File
	shift bool
}

// An event of the kernel is a time of two long words, the kind, the code and the
// value. Source: the kernel's input.h and input-event-codes.h.
const (
	eventTime = 2 * strconv.IntSize / 8
	eventSize = eventTime + 8

	kindSync, kindKey     = 0, 1
	syncDropped           = 3
	leftShift, rightShift = 42, 54
)

// What the keys type, by code, alone and with shift: a text, noText for a key that
// changes others, or NUL.
const (
	noText    = 1
	plain     = "\x00\x001234567890-=\x00\nqwertyuiop[]\n\x01asdfghjkl;'`\x01\\zxcvbnm,./\x01*\x01 \x01" + noPad + "\x01\x01789-456+1230."
	withShift = "\x00\x00!@#$%^&*()_+\x00\nQWERTYUIOP{}\n\x01ASDFGHJKL:\"~\x01|ZXCVBNM<>?\x01*\x01 \x01" + noPad + "\x01\x01789-456+1230."
	noPad     = "\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00" // between the letters and the keypad
)

var otherKeys = map[uint16]byte{96: '\n', 97: noText, 98: '/', 100: noText, 121: ',', 125: noText, 126: noText}

// Read reads text, a key at a time. A key that has none becomes NUL, which spoils the
// line that it stands in, and so does the loss of keys.
func (t *typing) Read(b []byte) (int, error) {
	var event [eventSize]byte // the kernel hands over whole ones
	for len(b) > 0 {
		if _, err := t.File.Read(event[:]); err != nil {
			return 0, err
		}
		if c := t.key(event[eventTime:]); c != noText {
			return copy(b, []byte{c}), nil
		}
	}
	return 0, nil
}

// key returns what an event types, noText for nothing.
func (t *typing) key(event []byte) byte {
	kind, code := binary.NativeEndian.Uint16(event), binary.NativeEndian.Uint16(event[2:])
	value := binary.NativeEndian.Uint32(event[4:]) // 0: let go, 1: pressed, 2: held
	shift := code == leftShift || code == rightShift
	if kind == kindKey && shift {
		t.shift = value != 0
	}
	switch {
	case kind == kindSync && code == syncDropped:
		return 0
	case kind != kindKey, shift, value != 1:
		return noText
	case int(code) < len(plain) && t.shift:
		return withShift[code]
	case int(code) < len(plain):
		return plain[code]
	}
	return otherKeys[code]
}
