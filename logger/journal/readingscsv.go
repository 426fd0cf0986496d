package journal

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"os"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
)

// Words of the flags column. A reading has any of the flag words joined by
// "+"; the other events have their own word, and behind it the flags of a
// garbled frame, no value, and their text in raw.
var flagWords = []struct {
	flag frame.Flags
	word string
}{
	{frame.FlagHold, "hold"},
	{frame.FlagLowBattery, "low-battery"},
	{frame.FlagUnitChanged, "unit-changed"},
	{frame.FlagDuplicate, "duplicate"},
	{frame.FlagOverRange, "over-range"},
	{frame.FlagFrozen, "frozen"},
	{frame.FlagPress, "press"},
}

var eventWords = map[device.EventKind]string{
	device.EventGarbled: "garbled",
	device.EventSilent:  "silent",
	device.EventLost:    "lost",
	device.EventBack:    "back",
	device.EventEnd:     "end",
}

// appendReading adds the journal line of a gauge event: time,gauge,raw,value,
// unit,flags,crc. What the gauge sent is kept byte for byte in raw, so that a
// decoder that was wrong can be put right and the round judged again.
func appendReading(dst []byte, ev device.Event) []byte {
	from, raw, value, unit, flags := len(dst), ev.Text, math.NaN(), "", ev.Flags
	if r := ev.Reading; ev.Kind == device.EventReading {
		raw, value, unit, flags = r.Raw, r.Value, r.Unit, r.Flags
	}
	dst = append(AppendTime(dst, ev.Time), ',')
	dst = appendCell(dst, GuardText(ev.Gauge))
	dst = appendCell(dst, GuardText(escapeRaw(raw)))
	dst = append(AppendNumber(dst, value), ',')
	dst = appendCell(dst, unit)
	dst = appendFlags(append(dst, eventWords[ev.Kind]...), flags)
	return sealLine(append(dst, ','), from)
}

// appendFlags adds the words of flags to a cell.
func appendFlags(dst []byte, flags frame.Flags) []byte {
	for _, f := range flagWords {
		if flags&f.flag != 0 {
			if dst[len(dst)-1] != ',' {
				dst = append(dst, '+')
			}
			dst = append(dst, f.word...)
		}
	}
	return dst
}

// parseReading reads the cells of a readings line. An empty value cell tells an
// event from a reading: a reading always has a number.
func parseReading(cells []string) (device.Event, error) {
	if len(cells) != readingsCells {
		return device.Event{}, fmt.Errorf("%d cells, want %d", len(cells), readingsCells)
	}
	in := cellReader{cells: cells}
	ev := device.Event{Time: in.time(), Gauge: in.text()}
	text, textErr := unescapeRaw(unguardText(in.raw()))
	value, unit, words := in.number(), in.raw(), in.raw()
	event, doubts := "", words
	if math.IsNaN(value) {
		event, doubts, _ = strings.Cut(words, "+")
	}
	flags, flagErr := parseFlags(doubts)
	if err := cmp.Or(in.err, textErr, flagErr); err != nil {
		return device.Event{}, err
	}
	if !math.IsNaN(value) {
		ev.Kind = device.EventReading
		ev.Reading = device.Reading{Time: ev.Time, Gauge: ev.Gauge, Raw: text, Value: value, Unit: unit, Flags: flags}
		return ev, nil
	}
	for kind, word := range eventWords {
		if word == event {
			ev.Kind, ev.Text, ev.Flags = kind, text, flags
			return ev, nil
		}
	}
	return device.Event{}, fmt.Errorf("no value, and unknown event %q", words)
}

// parseFlags refuses a word it does not know: left out, a doubt of the gauge
// would be lost, and with it a fault.
func parseFlags(s string) (frame.Flags, error) {
	var flags frame.Flags
next:
	for word := range strings.SplitSeq(s, "+") {
		for _, f := range flagWords {
			if f.word == word {
				flags |= f.flag
				continue next
			}
		}
		if word != "" {
			return 0, fmt.Errorf("unknown flag %q", word)
		}
	}
	return flags, nil
}

// ReadReadings replays a readings file of a job folder event by event, in
// constant memory. A torn last line is left out; a damaged line ends the
// sequence with a *DamageError.
func ReadReadings(path string) iter.Seq2[device.Event, error] {
	return func(yield func(device.Event, error) bool) {
		file, err := os.Open(path)
		if err != nil {
			yield(device.Event{}, fmt.Errorf("open readings: %w", err))
			return
		}
		defer file.Close()
		Readings(path, file)(yield)
	}
}

// Readings is ReadReadings on an open file.
func Readings(path string, r io.Reader) iter.Seq2[device.Event, error] {
	return func(yield func(device.Event, error) bool) {
		var cells []string
		_, _, err := scanJournal(path, r, readingsHeader, func(line string) error {
			var err error
			if cells, err = splitCells(line, cells); err != nil {
				return err
			}
			ev, err := parseReading(cells)
			if err == nil && !yield(ev, nil) {
				return errStopped
			}
			return err
		})
		if err != nil && !errors.Is(err, errStopped) {
			yield(device.Event{}, err)
		}
	}
}

// IsReadings reports whether r begins as a readings file of a job folder does,
// also where another program has saved it with a byte order mark, other line
// ends or semicolons: then its check values do not hold any more, and reading
// it as a readings file says so. Read as any CSV they would not be looked at.
func IsReadings(r *bufio.Reader) bool {
	head, _ := r.Peek(len("\uFEFF") + len(readingsHeader) + 2)
	head = bytes.TrimPrefix(head, []byte("\uFEFF"))
	head = bytes.ReplaceAll(head, []byte(";"), []byte(","))
	rest, ok := bytes.CutPrefix(head, []byte(readingsHeader))
	return ok && (len(rest) == 0 || rest[0] == '\r' || rest[0] == '\n')
}
