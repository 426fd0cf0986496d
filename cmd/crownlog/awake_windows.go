package main

import (
	"runtime"
	"syscall"
)

// What a thread asks of the system until it says otherwise. Source:
// SetThreadExecutionState in the Windows API.
const (
	esContinuous = 0x80000000
	esSystem     = 1
	esDisplay    = 2
)

// keepAwake keeps the machine awake until stop is called; the error says why it
// cannot.
func keepAwake() (stop func(), err error) {
	ask := syscall.NewLazyDLL("kernel32.dll").NewProc("SetThreadExecutionState")
	over, answer := make(chan struct{}), make(chan error)
	go func() {
		runtime.LockOSThread() // it is the thread that asks; it ends with the goroutine
		before, _, err := ask.Call(esContinuous | esSystem | esDisplay)
		if before != 0 {
			err = nil
		}
		answer <- err
		if err == nil {
			<-over
			_, _, _ = ask.Call(esContinuous)
			answer <- nil
		}
	}()
	if err := <-answer; err != nil {
		return nil, err
	}
	return func() {
		close(over)
		<-answer
	}, nil
}
