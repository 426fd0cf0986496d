package dashboard

import (
	"strings"
	"testing"
	"testing/synctest"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"

	"crownlog/logger/record"
)

// The code is shown until a phone is there or a key is pressed; who has the
// buttons stands in the first line from then on.
func TestCodeForThePhone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		here := false
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.source.Phone = &Phone{
			Address: "http://192.168.1.5:40123/aaaabbbbccccddddeeee/",
			Code:    slicesOf("█▀▄█", 19),
			Status: func() (string, bool) {
				if here {
					return "phones: 1, buttons: 192.168.1.7", true
				}
				return "phones: 0", false
			},
		}
		r.start()
		text := r.screen.text()
		assert.Contains(t, text, "http://192.168.1.5:40123/aaaabbbbccccddddeeee/")
		assert.Equal(t, 19, strings.Count(text, "█▀▄█"))
		r.keys("n") // only closes the page
		assert.Contains(t, r.screen.text(), "3 of 5 rocks")
		assert.Contains(t, r.screen.text(), "phones: 0")
		r.keys("w")
		assert.Contains(t, r.screen.text(), "Point the phone's camera here")
		here = true
		r.show(measuringScene())
		r.settle()
		assert.Contains(t, r.screen.text(), "3 of 5 rocks", "a phone is there")
		assert.Contains(t, r.screen.text(), "buttons: 192.168.1.7")
		r.keys("w")
		r.show(measuringScene())
		r.settle()
		assert.Contains(t, r.screen.text(), "Point the phone's camera here", "for the next phone")
		r.stop(t)
		assert.Empty(t, r.commands)
	})
}

func slicesOf(s string, n int) []string {
	return strings.Split(strings.TrimSuffix(strings.Repeat(s+"\n", n), "\n"), "\n")
}

// Where the code cannot be drawn, or does not fit, the address is there.
func TestAddressWithoutACode(t *testing.T) {
	p := Phone{Address: "http://192.168.1.5:40123/aaaa/", Code: slicesOf("█", 19), Status: func() (string, bool) { return "phones: 0", false }}
	for name, c := range map[string]canvas{"small": newCanvas(60, 15, false), "ascii": newCanvas(80, 24, true)} {
		paintPhone(c, p)
		assert.Contains(t, c.String(), p.Address, name)
		assert.Less(t, strings.Count(c.String(), "█"), 2, name)
	}
}

// A light module is light on a dark ground, whatever the terminal's own are.
func TestCodeHasItsOwnGround(t *testing.T) {
	fg, bg, _ := newPalette(false)[inkCode].Decompose()
	assert.Equal(t, []tcell.Color{tcell.Color231, tcell.Color16}, []tcell.Color{fg, bg})
}

// The first line of a contact pattern says who has the buttons, too.
func TestPatternSaysWhoHasTheButtons(t *testing.T) {
	c := newCanvas(120, 24, false)
	paintPattern(c, roundScene{View: base(record.FeaturePatternDrive), phone: "phones: 1, buttons: 192.168.1.7"}, PatternEntry{}, nil)
	assert.Contains(t, c.String(), "buttons: 192.168.1.7")
}
