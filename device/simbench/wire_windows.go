package simbench

import (
	"context"
	"net"

	"crownlog/device"
)

// newWire makes a pipe inside the program, for one opening: Windows has no
// pseudo-terminal that opens as a serial port.
func newWire(name string) (device.Conn, device.Opener, error) {
	ours, theirs := net.Pipe()
	return ours, func(context.Context) (device.Port, string, error) {
		return device.NewConnPort(name, theirs), name, nil
	}, nil
}
