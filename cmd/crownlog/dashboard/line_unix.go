//go:build unix

package dashboard

import "github.com/gdamore/tcell/v2"

// terminalScreen is the terminal the program was started in.
func terminalScreen() (tcell.Screen, *frugalLine, error) {
	tty, err := tcell.NewDevTty()
	if err != nil {
		return nil, nil, err
	}
	line := newLine(tty)
	screen, err := tcell.NewTerminfoScreenFromTty(line)
	return screen, line, err
}
