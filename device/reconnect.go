package device

import (
	"context"
	"fmt"
)

// A follower opens one device wherever it is plugged in. A cable that was
// pulled and put back often comes back as the next free number, and another
// gauge may have taken the old one: a round must not go on with its readings.
type follower struct {
	name  string
	known PortInfo // the device, once it was open
	lone  bool     // no other of its kind was plugged in then
	was   origin   // what the name led to, of a device without USB identity
	info  func(path string) (PortInfo, bool)
	list  func() ([]PortInfo, error)
	open  func(path string, was origin) (Port, origin, error)
}

// next tries once to open the device.
func (f *follower) next(ctx context.Context) (Port, string, error) {
	if err := ctx.Err(); err != nil {
		return nil, "", err
	}
	path := f.name
	if f.known.hasIdentity() {
		var err error
		if path, err = f.find(); err != nil {
			return nil, "", err
		}
	}
	port, was, err := f.open(path, f.was)
	if err != nil {
		return nil, "", err
	}
	if info, ok := f.info(path); ok && info.hasIdentity() {
		ports, _ := f.list() // of none, none is a twin
		f.known, f.lone = info, len(kindOf(info, ports)) < 2
	} else if !f.known.hasIdentity() {
		f.was = was
	}
	return port, path, nil
}

// find returns the name the known device has now. Two of a kind are told apart
// by a serial number that no other has, else by their sockets alone.
func (f *follower) find() (string, error) {
	certain := func(p PortInfo) bool { return p.at(f.known) || f.lone && f.known.Serial != "" }
	if p, ok := f.info(f.name); ok && p.sameKind(f.known) && certain(p) {
		return f.name, nil
	}
	ports, _ := f.list() // of none, none is the device
	alike := kindOf(f.known, ports)
	for _, p := range alike {
		if p.at(f.known) || len(alike) == 1 && certain(p) {
			return p.Name, nil
		}
	}
	if len(alike) == 0 {
		return "", &PortError{Port: f.name, Reason: PortMissing}
	}
	return "", &PortError{Port: f.name, Reason: PortTwin, Err: fmt.Errorf(
		"%s is one, in another socket; plug the cable into the socket it was in, or start again with its port", alike[0].Name)}
}

// A node is the entry of a device in the file system, told from any other that
// has its name sooner or later. A terminal's number goes to the next that is
// made as soon as it is free, so a name alone proves nothing.
type node struct {
	system, device, number uint64
	changed                [2]int64 // when it was made, or its owner or mode was changed: s, ns
}

// An origin is what a port's name led to when the port was opened.
type origin struct {
	target node // the device itself
	name   node // what has the name: the device, or a symbolic link to it
}

// sameAs reports whether now, found under the name later, can be trusted as o
// was: it is the same device, or somebody has pointed the link at another since.
func (o origin) sameAs(now origin) bool {
	link := o.name != o.target && now.name != now.target
	return now.target == o.target || link && now.name != o.name
}
