package dashboard

import (
	"os"

	"github.com/gdamore/tcell/v2"
)

// terminalScreen is the console the program was started in, which is never slow.
func terminalScreen() (tcell.Screen, *frugalLine, error) {
	screen, err := tcell.NewScreen()
	return screen, newLine(nil), err
}

// stopRequests receives nothing: a program is not stopped from outside there.
func stopRequests() (asked <-chan os.Signal, end func()) { return nil, func() {} }

func stopHere() {}
