package device

import (
	"context"
	"io"
	"net"
	"os"
)

const (
	// keyboardScheme begins the name of a cable that types.
	keyboardScheme = "keyboard:"
	// ThisKeyboard is the port of a cable that types into this program, as no system
	// but Linux lets it have one to itself.
	ThisKeyboard = keyboardScheme
)

// KeyboardPort returns the port of a cable whose keys are read elsewhere, and where
// what they type is written. A Write waits for the gauge, and fails once it is closed.
func KeyboardPort() (Opener, io.WriteCloser) {
	hand, port := net.Pipe()
	return func(context.Context) (Port, string, error) {
		return NewConnPort(ThisKeyboard, port), ThisKeyboard, nil
	}, hand
}

// inputOpener opens the lines that come in at standard input, which are lost for good
// where it ends.
func inputOpener() Opener {
	begun := false
	return func(ctx context.Context) (Port, string, error) {
		if begun {
			return nil, "", &PortError{Port: ThisKeyboard, Reason: PortGone}
		}
		begun = true
		open, hand := KeyboardPort()
		go func() { // ends with the input or, at its next line, with the port
			_, _ = io.Copy(hand, os.Stdin)
			hand.Close()
		}()
		return open(ctx)
	}
}
