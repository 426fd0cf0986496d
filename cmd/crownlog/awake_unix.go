//go:build !windows

package main

import (
	"errors"
	"fmt"
	"os/exec"
	"runtime"
	"time"
)

// awakeCommands keep a system awake for as long as the command behind them runs:
// cat, which ends with its input and so with this program, however that ends.
var awakeCommands = map[string][]string{
	"linux":  {"systemd-inhibit", "--what=idle:sleep", "--who=crownlog", "--why=a measurement is running", "cat"},
	"darwin": {"caffeinate", "-d", "-i", "cat"},
}

// refusal is how long such a command takes at most to say that it may not.
const refusal = 150 * time.Millisecond

// keepAwake keeps the machine awake until stop is called; the error says why it
// cannot.
func keepAwake() (stop func(), err error) {
	words := awakeCommands[runtime.GOOS]
	if words == nil {
		return nil, errors.New("no way is known here")
	}
	child := exec.Command(words[0], words[1:]...)
	input, err := child.StdinPipe()
	if err != nil {
		return nil, err
	}
	if err := child.Start(); err != nil {
		return nil, err
	}
	ended := make(chan error, 1)
	go func() { ended <- child.Wait() }()
	select {
	case err := <-ended:
		return nil, fmt.Errorf("%s: %w", words[0], err)
	case <-time.After(refusal):
	}
	return func() {
		input.Close()
		<-ended
	}, nil
}
