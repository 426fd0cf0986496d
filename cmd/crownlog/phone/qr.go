package phone

import "rsc.io/qr"

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
