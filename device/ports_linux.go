package device

import (
	"cmp"
	"os"
	"path/filepath"
	"strings"
)

// Where the kernel describes its terminals, and where stable names are kept.
const (
	sysTTY   = "/sys/class/tty"
	devPlace = "/dev"
)

// ListPorts returns the serial ports of this computer. It opens none of them,
// so it does not disturb a gauge. Pseudo-terminals are not listed.
func ListPorts() ([]PortInfo, error) {
	return sysfsPorts(sysTTY, devPlace+"/serial/by-id", devPlace+"/serial/by-path")
}

// portInfo describes the port behind a path, which may be a symbolic link.
func portInfo(path string) (PortInfo, bool) {
	real, err := filepath.EvalSymlinks(path)
	if err != nil || filepath.Dir(real) != devPlace {
		return PortInfo{}, false
	}
	return sysfsPort(sysTTY, filepath.Base(real))
}

// sysfsPorts lists the terminals under root that have hardware behind them.
func sysfsPorts(root, byID, byPath string) ([]PortInfo, error) {
	entries, err := os.ReadDir(root) // by name
	byIdentity, bySocket := stableLinks(byID), stableLinks(byPath)
	var ports []PortInfo
	for _, e := range entries {
		p, ok := sysfsPort(root, e.Name())
		if !ok {
			continue
		}
		// Of several without a serial number one has the name by identity,
		// whichever was plugged in last.
		p.Link = byIdentity[e.Name()]
		if p.Serial == "" || p.Link == "" {
			p.Link = cmp.Or(bySocket[e.Name()], p.Link)
		}
		ports = append(ports, p)
	}
	return ports, err
}

// sysfsPort reads one terminal. A built-in port that the kernel only reserves
// (type 0) is not a port.
func sysfsPort(root, name string) (PortInfo, bool) {
	dir := filepath.Join(root, name)
	dev, err := filepath.EvalSymlinks(filepath.Join(dir, "device"))
	if err != nil || attribute(dir, "type") == "0" {
		return PortInfo{}, false
	}
	p := PortInfo{Name: filepath.Join(devPlace, name)}
	// The USB device is a few levels above its terminal: terminal, interface,
	// device, with one more for a bridge of several ports; above what types are
	// five: input, inputs, HID device, interface, device.
	number := attribute(dev, "port_number") // of a bridge with several ports
	for range 5 {
		if p.Vendor = strings.ToUpper(attribute(dev, "idVendor")); p.Vendor != "" {
			p.USB, p.Product = true, strings.ToUpper(attribute(dev, "idProduct"))
			p.Serial, p.Maker, p.Title = attribute(dev, "serial"), attribute(dev, "manufacturer"), attribute(dev, "product")
			break
		}
		p.Path = filepath.Base(dev)
		dev = filepath.Dir(dev)
	}
	if !p.USB {
		p.Path = ""
	} else if number != "" {
		p.Path += "." + number
	}
	return p, true
}

// attribute is what the kernel says in a file, "" where there is none.
func attribute(dir, name string) string {
	b, _ := os.ReadFile(filepath.Join(dir, name))
	return strings.TrimSpace(string(b))
}

// stableLinks maps a terminal's name to the link that points at it.
func stableLinks(dir string) map[string]string {
	links := map[string]string{}
	entries, _ := os.ReadDir(dir) // where it is missing there are no links
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		if target, err := os.Readlink(path); err == nil {
			links[filepath.Base(target)] = path
		}
	}
	return links
}
