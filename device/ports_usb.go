//go:build windows || (darwin && cgo)

package device

import (
	"strings"

	"go.bug.st/serial/enumerator"
)

// ListPorts returns the serial ports of this computer. It opens none of them.
func ListPorts() ([]PortInfo, error) {
	list, err := enumerator.GetDetailedPortsList()
	var ports []PortInfo
	for _, d := range list {
		ports = append(ports, PortInfo{Name: d.Name, USB: d.IsUSB, Vendor: strings.ToUpper(d.VID),
			Product: strings.ToUpper(d.PID), Serial: d.SerialNumber, Maker: d.Manufacturer, Title: d.Product})
	}
	return ports, err
}

func portInfo(name string) (PortInfo, bool) {
	ports, _ := ListPorts() // none has no name
	for _, p := range ports {
		if strings.EqualFold(p.Name, name) {
			return p, true
		}
	}
	return PortInfo{}, false
}
