//go:build unix

package device

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// TestAskedGaugeThatEchoes sends each question back before its answer, as some
// adapters of two wires do.
func TestAskedGaugeThatEchoes(t *testing.T) {
	for _, tt := range []struct{ name, ask, echo string }{
		{"with its line end", "R\r", "R\r"},
		{"CR made CRLF", "R\r", "R\r\n"},
		{"without the line end", "R\r", "R"},
		{"of no line end", "?", "?"},
		{"of several bytes", "M1?\r\n", "M1?\r\n"},
		{"a blank between", "R\r", "R "},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := newPeer(t)
			prof := Profile{Name: "asked", Mode: ModeAsked, Ask: tt.ask, Timeout: Duration(time.Second),
				Interval: Duration(5 * time.Millisecond), Frame: FrameText, Unit: "mm"}
			var want []string
			for i := range 20 {
				want = append(want, fmt.Sprintf("0.%03d", 100+i))
			}
			go func() {
				ask := make([]byte, 16)
				for _, a := range append(want, "9.999") {
					if _, err := p.master.Read(ask); err != nil {
						return
					}
					p.master.WriteString(tt.echo + a + "\r\n")
				}
			}()
			l := listen(t, prof, PortOpener(p.link, Serial{}))
			l.untilRaw("9.999")
			l.stop()
			assert.Equal(t, append(want, "9.999"), l.raws())
			assert.Empty(t, texts(l.all, EventGarbled))
		})
	}
}
