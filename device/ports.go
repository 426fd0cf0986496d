package device

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
}

func (p PortInfo) hasIdentity() bool { return p.USB && p.Vendor != "" }

// sameDevice compares USB identities. Without a serial number two devices of
// the same kind cannot be told apart.
func (p PortInfo) sameDevice(q PortInfo) bool {
	return p.USB == q.USB && p.Vendor == q.Vendor && p.Product == q.Product && p.Serial == q.Serial
}

// ListPorts returns the serial ports of this computer. It opens none of them,
// so it does not disturb a gauge. Pseudo-terminals are not listed.
func ListPorts() ([]PortInfo, error) { return systemPorts() }

// findDevice returns the port name of a device by its USB identity.
func findDevice(want PortInfo) (string, bool) {
	ports, _ := ListPorts() // of none, none is the device
	return onlyDevice(ports, want)
}

// onlyDevice returns the name of the one port with the identity.
func onlyDevice(ports []PortInfo, want PortInfo) (string, bool) {
	name, count := "", 0
	for _, p := range ports {
		if p.sameDevice(want) {
			name = p.Name
			count++
		}
	}
	return name, count == 1
}
