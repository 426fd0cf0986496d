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
	"slices"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
)

// appendReading adds the journal line of a gauge event: time,gauge,raw,value,
// unit,flags,crc. What the gauge sent is kept byte for byte in raw, so that a
// decoder that was wrong can be put right and the round judged again. The flags
// of a reading are words joined by "+"; the other events have their own word,
// and behind it the flags of a garbled frame, no value, and their text in raw.
func appendReading(dst []byte, ev device.Event) []byte {
	from, raw, value, unit, words := len(dst), ev.Text, math.NaN(), "", ev.Flags.Words()
	if r := ev.Reading; ev.Kind == device.EventReading {
		raw, value, unit, words = r.Raw, r.Value, r.Unit, r.Flags.Words()
	} else {
		words = slices.Insert(words, 0, ev.Kind.String())
	}
	dst = append(AppendTime(dst, ev.Time), ',')
	dst = appendCell(dst, GuardText(ev.Gauge))
	dst = appendCell(dst, GuardText(escapeRaw(raw)))
	dst = append(AppendNumber(dst, value), ',')
	dst = appendCell(dst, unit)
	dst = append(dst, strings.Join(words, "+")...)
	return sealLine(append(dst, ','), from)
}

// parseReading reads the cells of a readings line. An empty value cell tells an
// event from a reading: a reading always has a number.
func parseReading(in *cellReader) (device.Event, error) {
	if len(in.cells) != readingsCells {
		return device.Event{}, fmt.Errorf("%d cells, want %d", len(in.cells), readingsCells)
	}
	ev := device.Event{Time: in.time(), Gauge: in.text()}
	text, textErr := unguardText(in.raw()), error(nil)
	if strings.Contains(text, `\`) {
		text, textErr = unescapeRaw(text)
	}
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
	for kind := device.EventGarbled; kind <= device.EventCommand; kind++ {
		if kind.String() == event {
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
	for word := range strings.SplitSeq(s, "+") {
		flag := frame.FlagOf(word)
		if flag == 0 && word != "" {
			return 0, fmt.Errorf("unknown flag %q", word)
		}
		flags |= flag
	}
	return flags, nil
}

// ReadReadings replays a readings file of a job folder event by event, in
// constant memory. A torn last line is left out; a damaged line ends the
// sequence with a *DamageError.
func ReadReadings(path string) iter.Seq2[device.Event, error] {
	return func(yield func(device.Event, error) bool) {
		file, err := openPlain(path, math.MaxInt64)
		if err != nil {
			yield(device.Event{}, fmt.Errorf("open readings %s: %w", path, err))
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
		var in cellReader
		_, _, err := scanJournal(path, r, readingsHeader, func(line string) error {
			var err error
			if cells, err = splitCells(line, cells); err != nil {
				return err
			}
			in.cells = cells
			ev, err := parseReading(&in)
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
