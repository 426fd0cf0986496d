//go:build !linux && !windows && !(darwin && cgo)

package device

import "go.bug.st/serial"

// systemPorts: without cgo this system gives names alone.
func systemPorts() ([]PortInfo, error) {
	names, err := serial.GetPortsList()
	if err != nil {
		return nil, err
	}
	var ports []PortInfo
	for _, n := range names {
		ports = append(ports, PortInfo{Name: n})
	}
	return ports, nil
}

func portInfo(string) (PortInfo, bool) { return PortInfo{}, false }
