package logger

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"strconv"
	"time"

	"crownlog/device"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A beginning is how a round was begun, as its readings keep it: with the sheet,
// the captures before it and the readings all that its captures depend on.
type beginning struct {
	RoundConfig
	Stored int  // captures before it
	First  int  // captures before its first event
	Holds  bool // it waits for the hold points before it
}

// keep puts an event into the readings, and before the first how the round began.
func (r *Round) keep(ev device.Event) (err error) {
	if r.cfg.Readings == nil {
		return nil
	}
	if !r.logged {
		r.logged = true
		text, _ := json.Marshal(beginning{r.cfg, r.begun, len(r.cfg.Store.Captures()), r.holds}) // of words and numbers
		err = r.cfg.Readings.Record(device.Event{Kind: device.EventRound, Time: ev.Time, Text: string(text)})
	}
	if err = cmp.Or(err, r.cfg.Readings.Record(ev)); err != nil {
		r.Tell("The raw readings cannot be stored: " + err.Error() + ".")
	}
	return err
}

// Recorded is how the round of some readings was begun, by their first event; false
// for those of a program that did not keep it. What a caller owns is not set.
func Recorded(first device.Event) (RoundConfig, bool) {
	b, ok := readBeginning(first)
	return b.RoundConfig, ok
}

func readBeginning(first device.Event) (b beginning, ok bool) {
	ok = first.Kind == device.EventRound && json.Unmarshal([]byte(first.Text), &b) == nil
	return b, ok
}

// ErrNotRecorded is returned for readings of a program that did not keep how their
// round was begun.
var ErrNotRecorded = errors.New("the readings do not say how their round was begun")

// Replay measures a round once more from its readings in a file of the job, under
// the sheet it had: all are the captures of the job. It returns the captures that
// come of it with what else was recorded meanwhile, from the first number there was
// room for, so that they can be compared with those that are stored. It fails with
// ErrNotRecorded, and where the readings do not fit the job.
func Replay(s sheet.Sheet, all []record.Capture, file string, events iter.Seq2[device.Event, error]) ([]record.Capture, error) {
	var round *Round
	store := &Scratch{}
	begun, line := 0, 1
	now := time.Time{}
	for ev, err := range events {
		if err != nil {
			return nil, err
		}
		line, now = line+1, ev.Time
		beside := func(n int) bool { // recorded by others than the round
			return !record.IsMeasured(all[n].Feature) && all[n].From == file+":"+strconv.Itoa(line)
		}
		if round != nil {
			_ = round.Handle(ev) // what was refused then is refused now
		} else {
			b, ok := readBeginning(ev)
			switch {
			case !ok:
				return nil, ErrNotRecorded
			case b.Stored > len(all):
				return nil, fmt.Errorf("its round began behind capture %d, and there are %d", b.Stored, len(all))
			}
			begun, store.captures = b.Stored, all[:b.Stored:b.Stored]
			b.Sheet, b.Store, b.Now = s, store, func() time.Time { return now }
			if round, err = NewRound(b.RoundConfig); err == nil && b.Holds {
				err = round.Hold()
			}
			beside = func(n int) bool { return n < b.First }
		}
		for n := len(store.captures); err == nil && n < len(all) && beside(n); n++ {
			store.captures = append(store.captures, all[n])
			err = round.Hold()
		}
		if err != nil {
			return nil, err
		}
	}
	if round == nil {
		return nil, ErrNotRecorded
	}
	return store.captures[begun:], nil
}

// A Scratch is a store that keeps captures for as long as a replay lasts.
type Scratch struct{ captures []record.Capture }

// Append keeps c under the next number.
func (s *Scratch) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(s.captures) + 1
	s.captures = append(s.captures, c)
	return c, nil
}

// Captures returns what was there and what was kept.
func (s *Scratch) Captures() []record.Capture { return s.captures }
