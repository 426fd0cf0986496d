package phone

import (
	"cmp"
	"errors"
	"fmt"
	"net"
	"net/netip"

	"rsc.io/qr"
)

// listen opens the address, or a private one of this machine with a free port.
// Only one address of the machine is served, never all of them: a laptop may have
// a public one beside that of the workshop.
func listen(address string) (net.Listener, error) {
	if address = cmp.Or(address, privateAddress()); address == "" {
		return nil, errors.New("this machine has no private network address: join the network of the workshop or the phone's hotspot")
	}
	at, err := parseAddress(address)
	if err != nil {
		return nil, err
	}
	return net.Listen("tcp", at.String())
}

// parseAddress reads an IP address with or without a port.
func parseAddress(s string) (netip.AddrPort, error) {
	at, err := netip.ParseAddrPort(s)
	if err != nil {
		var ip netip.Addr
		ip, err = netip.ParseAddr(s)
		at = netip.AddrPortFrom(ip, 0)
	}
	if err != nil || at.Addr().IsUnspecified() || at.Addr().IsMulticast() || at.Addr().Zone() != "" {
		return at, fmt.Errorf("%q is not one address of this machine, such as 192.168.1.5 or 192.168.1.5:8080", s)
	}
	return at, nil
}

// privateAddress is the address that the way out of this machine starts from, if
// that is private, else a private one that is up, rather of IPv4; "" for none.
// Source of what is private: RFC 1918 and RFC 4193.
func privateAddress() string {
	if way, err := net.Dial("udp4", "192.0.2.1:9"); err == nil { // sends nothing; the address is for documentation, RFC 5737
		defer way.Close()
		if from := way.LocalAddr().(*net.UDPAddr); from.IP.IsPrivate() {
			return from.IP.String()
		}
	}
	addresses, _ := net.InterfaceAddrs() // of interfaces that are up; none is as good as an error
	found := ""
	for _, a := range addresses {
		if p, ok := a.(*net.IPNet); ok && p.IP.IsPrivate() && (found == "" || p.IP.To4() != nil) {
			found = p.IP.String()
		}
	}
	return found
}

// quietZone is the light border of a code in modules: ISO/IEC 18004 asks for
// four.
const quietZone = 4

// QR writes a text as a QR code in half blocks, two rows of modules a line, the
// light modules as blocks: right as they stand on a dark terminal. The text is an
// address, which is never too long for one.
func QR(text string) (lines []string) {
	code, _ := qr.Encode(text, qr.L)
	light := func(x, y int) int {
		if y < code.Size+quietZone && !code.Black(x, y) {
			return 1
		}
		return 0
	}
	for y := -quietZone; y < code.Size+quietZone; y += 2 {
		line := ""
		for x := -quietZone; x < code.Size+quietZone; x++ {
			line += string([]rune(" ▄▀█")[2*light(x, y)+light(x, y+1)])
		}
		lines = append(lines, line)
	}
	return lines
}
