//go:build !linux

package device

import (
	"context"
	"errors"
)

// Keyboards returns none: this system does not let a program have one to itself.
func Keyboards() []PortInfo { return nil }

func keyboardOpener(name string) Opener {
	return func(context.Context) (Port, string, error) {
		return nil, "", &PortError{Port: name, Reason: PortNotSerial,
			Err: errors.New("only Linux gives a cable that types to one program; elsewhere name it keyboard: alone, and let it type into this window")}
	}
}
