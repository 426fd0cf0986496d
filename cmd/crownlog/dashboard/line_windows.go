package dashboard

import "github.com/gdamore/tcell/v2"

// terminalScreen is the console the program was started in, which is never slow.
func terminalScreen() (tcell.Screen, *frugalLine, error) {
	screen, err := tcell.NewScreen()
	return screen, nil, err
}
