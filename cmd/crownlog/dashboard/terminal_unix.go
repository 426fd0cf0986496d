//go:build unix

package dashboard

import (
	"os"
	"os/signal"
	"syscall"

	"github.com/gdamore/tcell/v2"
)

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

// stopRequests receives the signal by which a shell, or kill, stops a program to
// go on with it later; end lets it stop the program again as it is.
func stopRequests() (asked <-chan os.Signal, end func()) {
	c := make(chan os.Signal, 1)
	signal.Notify(c, syscall.SIGTSTP)
	return c, func() { signal.Stop(c) }
}

// stopHere stops the program until it is continued. The signal may stop another
// thread first: this one waits for the one that continues it.
func stopHere() {
	continued := make(chan os.Signal, 1)
	signal.Notify(continued, syscall.SIGCONT)
	defer signal.Stop(continued)
	if syscall.Kill(syscall.Getpid(), syscall.SIGSTOP) == nil {
		<-continued
	}
}
