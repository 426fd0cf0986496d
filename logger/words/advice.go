// Package words has the sentences for what analysis says in codes: every surface
// that tells a fitter of an advice, a contact, a change between stages, a doubt
// or a note takes its sentence from here.
package words

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis/setup"
)

// Side names an adjuster, or the place of its shims.
func Side(near bool) string {
	if near {
		return "crown-wheel side"
	}
	return "far side"
}

// Turn is which way an adjuster goes and how many notches: "OUT 2".
func Turn(t setup.Turn) string {
	if t.In {
		return fmt.Sprintf("IN %g", t.Notches)
	}
	return fmt.Sprintf("OUT %g", t.Notches)
}

// Moved says what a move did to the sides, "crown-wheel side in 1, far side out 1":
// in by near and far or, where both are 0, in and out by amount.
func Moved(amount, near, far float64, unit string) string {
	if near == 0 && far == 0 {
		near, far = amount, -amount
	}
	sides := []struct {
		near bool
		by   float64
	}{{true, near}, {false, far}}
	if far > near { // what went in comes first
		slices.Reverse(sides)
	}
	var did []string
	for _, s := range sides {
		switch {
		case s.by == 0:
		case unit == "mm":
			did = append(did, fmt.Sprintf("%s %+g mm of shim", Side(s.near), s.by))
		default:
			did = append(did, strings.ToLower(Side(s.near)+" "+Turn(setup.Turn{In: s.by > 0, Notches: math.Abs(s.by)})))
		}
	}
	return strings.Join(did, ", ")
}

// Hands says what the hands do to follow an advice, in order: "1 far side OUT 2 ·
// 2 crown-wheel side IN 1 · 3 far side IN 1."; "" where there is no move.
func Hands(a setup.Advice) string {
	if !a.Needed {
		return ""
	}
	out := a.Steps < 0
	text := fmt.Sprintf("Take %.2f mm of shim from the %s and add it on the %s.", math.Abs(a.Steps), Side(out), Side(!out))
	before, after := "Caps off. ", ", torque the cap bolts again"
	if !a.Shims {
		var does []string
		for i, t := range setup.Turns(a.Steps) {
			does = append(does, fmt.Sprintf("%d %s %s", i+1, Side(t.Near), Turn(t)))
		}
		text, before = strings.Join(does, " · ")+".", "Locks off, cap bolts to snug. "
		if math.Mod(a.Steps, 1) != 0 {
			text += " Half a notch is held by the lock turned over."
		}
	}
	if !a.Capped {
		before, after = "", ""
	}
	return before + text + " Then free the pinion, turn the wheel 4 turns each way" + after + " and hold the pinion."
}

// Advice says what to do with the adjusters and what it should lead to, or why
// there is nothing to move.
func Advice(a setup.Advice) string {
	text := adviceOf(a)
	if a.Again != nil {
		text += fmt.Sprintf(" The spread of %.3f mm is too close to the %.3f mm it has: measure positions %d and %d again with more rocks before the crown wheel comes off.",
			a.Spread, a.Room, a.Again[0], a.Again[1])
	}
	return text
}

func adviceOf(a setup.Advice) string {
	switch a.Outcome {
	case setup.NothingMeasured:
		return "Nothing measured yet."
	case setup.OpenWindow:
		return "The window needs both ends before a move can be worked out."
	case setup.SpreadTooWide:
		return fmt.Sprintf("The spread of %.3f mm cannot fit in %.3f mm: no adjuster move cures it. Take the crown wheel off and find the run-out.", a.Spread, a.Room)
	case setup.AlreadyInside:
		return "Inside the window: leave the adjusters alone."
	case setup.MoveNeeded:
		return Hands(a) + forecast(a)
	}
	return noMove(a)
}

// noMove says why nothing is moved: the aim is near enough, or the steps of the
// adjuster are too coarse to get any nearer.
func noMove(a setup.Advice) string {
	aim := fmt.Sprintf("%.3f mm", a.Target)
	if a.AimAsFound {
		aim += ", the mean as found"
	}
	off := fmt.Sprintf("The mean is %.3f mm from the aim (%s), ", math.Abs(a.Target-a.Mean), aim)
	reached := a.Outcome == setup.NearEnough
	switch {
	case a.Shims && reached:
		return off + "less than a shim can change."
	case a.Shims:
		return off + "less than a shim can change, and yet not inside: measure again with more rocks."
	case reached:
		return off + fmt.Sprintf("nearer than the next whole notch (%.3f mm). Leave it, or use the half-notch side of the lock.", math.Abs(a.Gain)) + decider[a.Decider]
	}
	return off + fmt.Sprintf("outside the window, and half a notch (%.3f mm by the moves so far) would leave it as far off: half notches cannot reach this window. Use a finer lock, or shims.", math.Abs(a.Gain)/2)
}

var decider = map[setup.Decider]string{
	setup.FinerGauge: " With this spread the gauge cannot prove this window: a finer one could.",
	setup.MoreRocks:  " More rocks at the outermost positions, or a finer gauge, would decide it.",
}

// forecast says what the move should do.
func forecast(a setup.Advice) string {
	text := fmt.Sprintf(" The mean should become %.3f ± %.3f mm.", a.Predicted, 2*a.PredictedU)
	if !a.SignKnown {
		text += " Which way the backlash goes is not known yet: this move shows it."
	}
	if a.Coarse {
		text += " A notch is coarse for this window: it may not come to lie inside at the first go."
	}
	return text
}
