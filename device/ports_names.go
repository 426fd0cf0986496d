//go:build !linux && !windows && !(darwin && cgo)

package device

import (
	"strings"

	"go.bug.st/serial"
)

// ListPorts returns the serial ports of this computer. Without cgo this system gives
// names alone.
func ListPorts() ([]PortInfo, error) {
	names, err := serial.GetPortsList()
	var ports []PortInfo
	for _, n := range names {
		ports = append(ports, PortInfo{Name: n})
	}
	return ports, err
}

// portInfo: this system names a call-out device of a USB cable after the serial
// number of the cable, or the socket it is in.
func portInfo(name string) (PortInfo, bool) {
	p := PortInfo{Name: name, Path: name}
	return p, strings.HasPrefix(name, "/dev/cu.usb") || strings.HasPrefix(name, "/dev/tty.usb")
}
