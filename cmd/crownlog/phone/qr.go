package phone

import "rsc.io/qr"

// quietZone is the light border of a code in modules: ISO/IEC 18004 asks for
// four.
const quietZone = 4

// QR writes a text as a QR code in half blocks, two rows of modules a line, the
// light modules as blocks: right as they stand on a dark terminal.
func QR(text string) ([]string, error) {
	code, err := qr.Encode(text, qr.L)
	if err != nil {
		return nil, err
	}
	light := func(x, y int) int {
		if y < code.Size+quietZone && !code.Black(x, y) {
			return 1
		}
		return 0
	}
	var lines []string
	for y := -quietZone; y < code.Size+quietZone; y += 2 {
		line := ""
		for x := -quietZone; x < code.Size+quietZone; x++ {
			line += string([]rune(" ▄▀█")[2*light(x, y)+light(x, y+1)])
		}
		lines = append(lines, line)
	}
	return lines, nil
}
