package device

import (
	"slices"
	"strings"
)

// A PortInfo is a serial port of this computer.
type PortInfo struct {
	Name    string `json:"name"` // what to open: "/dev/ttyUSB0", "COM3"
	Link    string `json:"link"` // a name that stays the same, where the system keeps one
	USB     bool   `json:"usb"`
	Vendor  string `json:"vendor"`  // USB vendor, four hex digits in upper case
	Product string `json:"product"` // USB product, four hex digits in upper case
	Serial  string `json:"serial"`  // USB serial number, "" where the device has none
	Maker   string `json:"maker"`   // as the device names its maker
	Title   string `json:"title"`   // as the device names itself
	Path    string `json:"path"`    // the socket it is in and its part of the device, "1-1.4:1.0"; "" where the system does not tell
}

// hasIdentity reports whether the device can be known again under another name.
func (p PortInfo) hasIdentity() bool { return p.Vendor != "" || p.Path != "" }

// sameKind reports whether the two say the same of themselves. Many bridges
// have no serial number, or that of all their kind.
func (p PortInfo) sameKind(q PortInfo) bool {
	return p.Vendor == q.Vendor && p.Product == q.Product && p.Serial == q.Serial && p.part() == q.part()
}

// part tells the ports of one device apart.
func (p PortInfo) part() string {
	_, part, _ := strings.Cut(p.Path, ":")
	return part
}

// at reports whether the two are in one socket; where the system does not tell
// the sockets, it keeps a name for each.
func (p PortInfo) at(q PortInfo) bool { return p.Path == q.Path && (p.Path != "" || p.Name == q.Name) }

// kindOf returns the ports that say the same of themselves as want.
func kindOf(want PortInfo, ports []PortInfo) []PortInfo {
	return slices.DeleteFunc(slices.Clone(ports), func(p PortInfo) bool { return !p.sameKind(want) })
}
