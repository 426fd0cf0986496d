package identify

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"
	"time"

	"crownlog/device"
	"crownlog/device/frame"
)

// How the questions are spaced.
const (
	// busSilence makes a Modbus device forget what was no question for it. Common
	// implementations wait half a second for the rest of a frame (common practice,
	// no source).
	busSilence = 600 * time.Millisecond
	// answerWait is for a slow converter; answerGap parts an answer from the next,
	// and is more than the 16 ms for which a USB bridge may hold back the rest.
	answerWait, answerGap = 300 * time.Millisecond, 20 * time.Millisecond
	// scanWait is for a Modbus device while addresses are gone through.
	scanWait = 120 * time.Millisecond
	// confirmSilence is longer than an answer to a question before may be late.
	confirmSilence = time.Second
	// askTimes is how often a question is asked: two broken answers and a first
	// one half heard leave enough.
	askTimes = 12
)

// ask sends the polite questions, in the order in which they do the least harm:
//
//	*IDN?     every SCPI instrument answers it; if one does, only its queries follow
//	a pause   so that what was no question for a Modbus device is forgotten
//	Modbus    reads of a few registers of the usual addresses
//	letters   that gauges answer with their value; to some they mean more
//
// None changes a setting of an instrument that keeps to IEEE 488.2 or Modbus; what
// a letter does to an unknown one nobody knows. again leaves all but Modbus out.
func (l *session) ask(again bool) []Proposal {
	if !again {
		if name := strings.TrimSpace(string(l.answerTo([]byte("*IDN?\n"), answerWait))); len(name) > 3 && printable(name) {
			return l.scpi(name)
		}
		l.silence(busSilence)
	}
	found := l.modbus()
	if again || len(found) > 0 || l.err != nil {
		return found
	}
	l.silence(busSilence)
	for _, q := range []string{"?\r", "\r\n", "R\r\n", "D\r\n"} {
		if found = l.question(q); len(found) > 0 {
			break
		}
	}
	return found
}

// scpi asks an instrument that told its name for a value. What it did not
// understand is in its queue of errors, which is read empty again.
// Source: SCPI-99, volume 1, 21.8 (SYSTem:ERRor?).
func (l *session) scpi(name string) []Proposal {
	for _, q := range []string{"READ?", "FETC?", "MEAS?"} {
		found := l.question(q + "\n")
		if len(found) > 0 || l.err != nil {
			return found
		}
		for range 20 { // as many as a queue of errors holds
			if code := bytes.TrimLeft(l.answerTo([]byte("SYST:ERR?\n"), answerWait), "+- "); len(code) == 0 || code[0] == '0' {
				break
			}
		}
	}
	l.err = cmp.Or[error](l.err, &CannotTell{Why: fmt.Sprintf("an instrument answers *IDN? with %q at %d baud, and none of READ?, FETC? and MEAS? with a number", name, l.baud), Lines: []string{name}})
	return nil
}

// question asks often enough for a proposal, and once more after a long pause:
// an answer that came late belongs to the question before.
func (l *session) question(q string) []Proposal {
	l.progress(fmt.Sprintf("asking %q at %d baud", q, l.baud))
	var b []byte
	for i := range askTimes {
		if i == 2 && len(b) == 0 {
			return nil
		}
		b = append(b, l.answerTo([]byte(q), answerWait)...)
	}
	var found []Proposal
	for _, p := range Bytes(b, 0) {
		p.Profile.Mode, p.Profile.Ask = device.ModeAsked, q
		if p.Profile.Check() == nil { // Modbus has a question of its own
			found = append(found, p)
		}
	}
	if len(found) > 0 {
		if l.silence(confirmSilence); len(l.answerTo([]byte(q), confirmSilence)) == 0 {
			return nil
		}
	}
	return found
}

// silence waits, and throws away what comes.
func (l *session) silence(d time.Duration) {
	for end := time.Now().Add(d); l.err == nil && d > 0; d = time.Until(end) {
		l.read(min(d, pollEvery))
	}
}

// answerTo asks and receives one answer, without the echo of the question. It may
// come in pieces, and a pause ends it; the pause between the echo and the answer
// does not.
func (l *session) answerTo(ask []byte, wait time.Duration) (answer []byte) {
	if l.err == nil {
		_, l.err = l.port.Write(ask)
	}
	var all []byte
	for timeout := wait; ; {
		b := l.read(timeout)
		if len(b) == 0 {
			break
		}
		all = append(all, b...)
		if answer = withoutEcho(all, ask); len(answer) > 0 {
			timeout = answerGap
		}
	}
	l.received = append(l.received, answer...)
	return answer
}

// withoutEcho returns what follows the question come back, its line end and
// all; what does not begin with the whole question is an answer.
func withoutEcho(received, ask []byte) []byte {
	text := bytes.TrimRight(ask, "\r\n")
	rest, ok := bytes.CutPrefix(received, text)
	if len(text) == 0 || !ok {
		return received
	}
	end := bytes.TrimLeft(rest, "\r\n")
	if len(end) == len(rest) && len(rest) > 0 && len(text) < len(ask) {
		return received // the question has a line end, this has none
	}
	return end
}

// Where a Modbus device is looked for: the addresses it comes with or is given,
// and the registers that values begin at (common practice, no source).
var (
	usualAddresses = []byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 16, 17, 32, 100, 247}
	usualRegisters = []int{0, 16, 100, 256, 4096}
)

// modbus looks for a device, and in its registers, read in blocks of eight or as
// few as it allows, for a value that moves.
func (l *session) modbus() (found []Proposal) {
	l.progress(fmt.Sprintf("asking Modbus devices at %d baud", l.baud))
	for _, address := range usualAddresses {
		if _, heard := l.registers(address, 3, 0, 2, scanWait); heard == nil {
			continue
		}
		for i := 0; i < 2*len(usualRegisters) && (len(found) == 0 || !found[0].Sure()); i++ {
			if more := l.block(address, 4-i%2, usualRegisters[i/2]); len(more) > 0 {
				found = more
			}
		}
		if len(found) == 0 {
			l.err = cmp.Or[error](l.err, &CannotTell{Lines: Heard(l.received), Why: fmt.Sprintf("Modbus device %d answers at %d baud, and no usual register of it moved: move the gauge while it is asked, or set register by the manual", address, l.baud)})
		}
		break
	}
	return found
}

// block reads the registers from the first on until they are known.
func (l *session) block(address byte, function, first int) []Proposal {
	var b []byte
	for n := 8; n > 0 && len(b) == 0; n /= 2 { // fewer at a time may be allowed
		for range askTimes {
			next, heard := l.registers(address, function, first, n, answerWait)
			if heard == nil || len(heard.answers) == 0 {
				break
			}
			b = append(b, next...)
		}
	}
	return proposals(b, 0, true)
}

// registers asks for some registers and returns the question and what came, and
// what that is of Modbus; nil for nothing.
func (l *session) registers(address byte, function, first, n int, wait time.Duration) ([]byte, *exchange) {
	q := modbusCheck.Append([]byte{address, byte(function), byte(first >> 8), byte(first), 0, byte(n)})
	l.silence(frame.ModbusSilence(l.baud))
	answer := l.answerTo(q, wait)
	if heard := modbusHeard(answer); len(heard) > 0 {
		return append(q, answer...), heard[0]
	}
	return nil, nil
}
