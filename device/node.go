package device

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
