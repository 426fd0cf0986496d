package device

import (
	"os"
	"sync"
	"sync/atomic"
	"time"

	"go.bug.st/serial"
)

// readSlice bounds one Read of the library, so that Close never takes the
// descriptor away under a Read: it waits for the Read to leave, and a user who
// quits does not notice so short a wait.
const readSlice = 100 * time.Millisecond

// A libraryLine is a line that is read with the library, where the runtime has no
// way to wait for it. The library closes the descriptor while a Read or Write may
// still use its number, which another file may have got by then; here the last
// user closes:
//
//	Close sets closed, waits for Write to leave, then for Read, and closes
//	Read and Write look at closed before each of their short steps
type libraryLine struct {
	port              serial.Port
	lock              portLock
	closed            atomic.Bool
	readEnd, writeEnd atomic.Int64 // Unix time in ns; of Read below 0, as of the zero time: none
	reading, writing  sync.Mutex
}

// Read implements Conn.
func (l *libraryLine) Read(b []byte) (n int, err error) {
	l.reading.Lock()
	defer l.reading.Unlock()
	for n == 0 && err == nil && len(b) > 0 {
		slice, end := readSlice, l.readEnd.Load()
		if end > 0 {
			slice = min(slice, time.Until(time.Unix(0, end)))
		}
		if l.closed.Load() {
			return 0, os.ErrClosed
		}
		if slice <= 0 {
			return 0, os.ErrDeadlineExceeded
		}
		if err = l.port.SetReadTimeout(slice); err == nil {
			n, err = l.port.Read(b)
		}
	}
	return n, err
}

// Write implements Conn.
func (l *libraryLine) Write(b []byte) (done int, err error) {
	l.writing.Lock()
	defer l.writing.Unlock()
	for done < len(b) && err == nil {
		if l.closed.Load() {
			return done, os.ErrClosed
		}
		var n int
		if n, err = l.lock.write(l.port, b[done:]); n == 0 && err == nil && time.Now().UnixNano() > l.writeEnd.Load() {
			err = os.ErrDeadlineExceeded
		}
		done += n
	}
	return done, err
}

// SetReadDeadline implements Conn.
func (l *libraryLine) SetReadDeadline(t time.Time) error {
	l.readEnd.Store(t.UnixNano())
	return nil
}

// SetWriteDeadline implements Conn.
func (l *libraryLine) SetWriteDeadline(t time.Time) error {
	l.writeEnd.Store(t.UnixNano())
	return nil
}

// Close implements Conn.
func (l *libraryLine) Close() error {
	l.closed.Store(true)
	l.writing.Lock()
	defer l.writing.Unlock()
	l.reading.Lock()
	defer l.reading.Unlock()
	defer l.lock.release()
	return l.port.Close()
}
