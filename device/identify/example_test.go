package identify_test

import (
	"fmt"
	"time"

	"crownlog/device/identify"
)

// Eight lines of a gauge that nobody knows, received within two seconds.
func ExampleBytes() {
	var sent []byte
	for i := range 8 {
		sent = fmt.Appendf(sent, "CH1: %+.3f mm\r\n", float64(i)/10)
	}
	for _, p := range identify.Bytes(sent, 2*time.Second) {
		fmt.Printf("%s, %s to %g %s: %d frames, %g a second, %.0f %% clean\n", p.Profile.Frame, p.Profile.Quantity,
			p.Profile.Resolution, p.Profile.Unit, p.Frames, p.Rate, 100*p.Clean)
	}
	// Output:
	// text, length to 0.001 mm: 8 frames, 4 a second, 100 % clean
}
