package identify

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"crownlog/device"
	"crownlog/device/frame"
)

var modbusCheck, _ = frame.ChecksumNamed("crc16-modbus")

// An exchange is what was heard of one device on a Modbus line.
type exchange struct {
	address, function byte
	base              int      // first register of the answers; -1: not heard
	answers           [][]byte // their registers
	refusals          int
	questions         int // of another master
}

// modbusHeard finds the frames of Modbus RTU by their checks: answers, refusals
// and the questions of another master, which say what the answers after them
// are of.
// Source: Modbus Application Protocol V1.1b3, 6.3, 6.4 and 7.
func modbusHeard(b []byte) []*exchange {
	type of struct{ address, function, size byte }
	seen := map[of]*exchange{}
	at := func(address, function, size byte) *exchange {
		key := of{address, function, size}
		if seen[key] == nil {
			seen[key] = &exchange{address: address, function: function, base: -1}
		}
		return seen[key]
	}
	right := func(n int) bool { return n <= len(b) && modbusCheck.Right(b[:n], 0, n-2, false) }
	asked := -1
	for len(b) >= 5 {
		address, function, third := b[0], b[1], b[2]
		n, answer := 1, 5+int(third)
		switch {
		case address < 1 || address > 247 || function&0x7F != 3 && function&0x7F != 4:
		case function >= 0x80 && right(5):
			n = 5
			at(address, function&0x7F, 0).refusals++
		case function < 0x80 && third > 0 && third%2 == 0 && right(answer):
			n = answer
			x := at(address, function, third)
			x.answers = append(x.answers, slices.Clone(b[3:3+third]))
			x.base = max(x.base, asked)
		case function < 0x80 && right(8) && b[4] == 0 && b[5] > 0 && b[5] <= 125:
			n = 8
			at(address, function, 2*b[5]).questions++
			asked = int(third)<<8 | int(b[3])
		}
		b = b[n:]
	}
	return slices.SortedFunc(maps.Values(seen), func(a, b *exchange) int {
		return cmp.Or(cmp.Compare(len(b.answers), len(a.answers)), cmp.Compare(a.address, b.address), cmp.Compare(a.function, b.function))
	})
}

// modbusCandidates proposes the registers that may be the value of each device
// that was heard to answer. own says that the questions are ours.
func modbusCandidates(b []byte, own bool) (list []candidate) {
	for _, x := range modbusHeard(b) {
		if len(x.answers) < leastFrames {
			break // they are in order
		}
		fields := rank(x.answers, 0, len(x.answers[0]), 2, []string{"int", "uint", "float", "bcd"}, []string{"", "BADC", "CDAB", "DCBA"})
		strange := func(f field) bool { return f.kind == "bcd" || f.sign != nil } // which no profile can say
		for _, f := range fields {
			if strange(f) {
				continue
			}
			for _, o := range fields {
				if strange(o) && (o.sign == nil || slices.Min(o.values) < 0 && slices.Max(o.values) > 0) { // else the bit stood still
					f.most = min(f.most, f.evidence-o.evidence)
				}
			}
			c := f.candidate(device.Profile{Name: "heard-modbus", Title: "Modbus RTU answers, found by listening", Mode: device.ModeAsked, Frame: device.FrameModbus,
				Modbus: &frame.Modbus{Address: int(x.address), Function: int(x.function), Register: max(x.base, 0) + f.at/2, Type: fmt.Sprint(f.kind, 8*f.size), Words: f.order}},
				"the unit cannot be seen in such frames: set it by the display")
			for _, a := range x.answers { // as it will answer when asked for these registers alone
				c.stream = append(c.stream, modbusCheck.Append(append([]byte{x.address, x.function, byte(f.size)}, a[f.at:f.at+f.size]...))...)
			}
			switch {
			case x.questions > 0 && !own:
				c.notes = append(c.notes, "another master asks on this line, and two disturb each other: take it off before you measure")
			case x.base < 0:
				c.notes = append(c.notes, fmt.Sprintf("which registers they are was not heard: set register by the manual, to %d above the first that is asked for", f.at/2))
			}
			list = append(list, c)
		}
	}
	return list
}
