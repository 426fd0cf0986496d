package frame_test

import (
	"fmt"
	"time"

	"crownlog/device/frame"
)

// A text gauge sends a sound line, one that was spoilt on the way, and a line
// in two pieces.
func ExampleDecoder() {
	gauge := &frame.Text{LineEnd: "crlf"}
	decoder, err := gauge.NewDecoder()
	if err != nil {
		fmt.Println(err)
		return
	}
	print := func(f *frame.Frame) {
		if f.Bad != "" {
			fmt.Printf("%q: %s\n", f.Raw, f.Bad)
			return
		}
		fmt.Println(f.Value, f.Unit, f.Flags&frame.FlagHold != 0)
	}
	for _, piece := range []string{"+0.123 mm\r\n+0.1\x003 mm\r\n+0.1", "25 mm HOLD\r\n"} {
		decoder.Feed(time.Time{}, []byte(piece), print)
	}
	// Output:
	// 0.123 mm false
	// "+0.1\x003 mm": NUL in the line (parity or break error)
	// 0.125 mm true
}

func ExampleModbus_Request() {
	gauge := &frame.Modbus{Address: 17, Function: 4, Register: 264, Type: "int16", Decimals: 3}
	fmt.Printf("% X\n", gauge.Request())
	// Output:
	// 11 04 01 08 00 01 B3 64
}
