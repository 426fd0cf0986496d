package feature

import (
	"errors"
	"math"
	"slices"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// closingParts is what is seen to when the axle is closed up, in this order.
var closingParts = []struct{ label, ask string }{
	{"cover", "The cover is on and its bolts are tight, the magnet clean?"},
	{"sealant", "The sealant or gasket is whole all round, and had its time?"},
	{"breather", "Air goes through the breather?"},
}

// closeUp is answered part by part; only a yes is kept.
func closeUp() Feature {
	return Feature{
		Feature: record.FeatureOf(record.FeatureCloseUp),
		Caution: "Sealant: gloves and fresh air; wait for the time on its tube before the oil.",
		positions: func(sheet.Sheet) []record.Position {
			ps := evenPositions(len(closingParts))
			for i := range ps {
				ps[i].AngleDeg, ps[i].Label = math.NaN(), closingParts[i].label
			}
			return ps
		},
		place:   "part",
		assess:  (*Assessment).closed,
		partial: func(record.Capture) bool { return true },
		word:    func(record.Capture) string { return "yes" },
		Word:    func(c record.Capture) string { return c.Note },
		typed:   func(s Setup) Measurer { return &answers{entry: &entry{Setup: s}} },
		example: "yes, once it is so",
		parse: func(line string, _ float64) ([]frame.KeyedValue, error) {
			switch strings.ToLower(strings.TrimSpace(line)) {
			case "y", "yes":
				return []frame.KeyedValue{{Value: 1}}, nil
			case "n", "no":
				return []frame.KeyedValue{{Value: 0}}, nil
			}
			return nil, errors.New("neither yes nor no")
		},
	}
}

// answers takes a yes to each part.
type answers struct{ *entry }

func (m *answers) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Accept:
		return one(Warn("Type yes once it is so."))
	case Typed:
		if in.Value != 1 || in.Unit != "" {
			return one(Warn("Put it right first, then type yes."))
		}
		c := newCapture(math.NaN(), math.NaN(), 1, record.QualityKeyed, at.Position.Label+" seen to")
		c.Time, c.Gauge = in.Time, in.Gauge
		return []Effect{Captured(c), Advance{}}
	}
	return m.entry.Step(at, in)
}

func (m *answers) Ask(at At) string { return closingParts[at.Place].ask + " Type yes." }

// closed is never inside: nothing was measured, somebody said so.
func (a *Assessment) closed(s sheet.Sheet, counted, _ []record.Capture, parts int) {
	a.sum(s, counted, 0, a.Spec, every)
	var seen []string
	a.Missing = nil
	for i := 1; i <= parts; i++ {
		if slices.ContainsFunc(a.Results, func(r Result) bool { return r.Capture.Position == i }) {
			seen = append(seen, closingParts[i-1].label)
		} else {
			a.Missing = append(a.Missing, i)
		}
	}
	a.Round.Missing = a.Missing
	a.Verdict, a.reason = gum.NotDecided, reason{code: becauseOfTry, words: "nothing confirmed yet"}
	if len(seen) > 0 {
		a.reason.words = "confirmed by eye: " + words.List(seen)
	}
}
