package device

import "context"

// SerialOpener returns an Opener of the serial port name. After the first
// opening it knows the USB identity of the device and follows it to another
// port name; without one it goes by the name, which may be a symbolic link.
func SerialOpener(name string, s Serial) Opener {
	f := follower{name: name, info: portInfo, find: findDevice,
		open: func(path string) (Port, error) { return openPort(path, s) }}
	return f.next
}

// A follower opens one device wherever it is plugged in. A cable that was
// pulled and put back often comes back as the next free number, and another
// gauge may have taken the old one: a round must not go on with its readings.
type follower struct {
	name  string
	known PortInfo // the device, once it was open
	info  func(path string) (PortInfo, bool)
	find  func(PortInfo) (string, bool)
	open  func(path string) (Port, error)
}

// next tries once to open the device.
func (f *follower) next(ctx context.Context) (Port, string, error) {
	if err := ctx.Err(); err != nil {
		return nil, "", err
	}
	path := f.name
	if f.known.hasIdentity() {
		// The name still leads to the device, or another name does, or the
		// device is not plugged in.
		if info, ok := f.info(path); !ok || !info.sameDevice(f.known) {
			moved, ok := f.find(f.known)
			if !ok {
				return nil, "", &PortError{Port: f.name, Reason: PortMissing}
			}
			path = moved
		}
	}
	port, err := f.open(path)
	if err != nil {
		return nil, "", err
	}
	if !f.known.hasIdentity() {
		f.known, _ = f.info(path)
	}
	return port, path, nil
}
