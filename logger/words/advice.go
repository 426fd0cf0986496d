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

// Moved says what a move did to the sides, "crown-wheel side in 1, far side out 1".
func Moved(near, far float64, unit string) string {
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

// An Order is one thing that hands do: what, and on which side.
type Order struct {
	Near bool
	Does string // "OUT 2", "2.20 mm: 0.70 + 1.50", "out 0.10 mm"
}

// Orders are what the hands do to follow an advice, one after the other; nil where
// there is no move.
func Orders(a setup.Advice) []Order {
	var orders []Order
	first, second := a.Steps < 0, a.Steps >= 0 // the side that gives way comes first
	switch {
	case !a.Needed:
	case a.Stacks != nil:
		for _, near := range []bool{first, second} {
			orders = append(orders, Order{near, stack(map[bool]setup.Stack{true: a.Stacks.Near, false: a.Stacks.Far}[near])})
		}
	case a.Shims:
		by := fmt.Sprintf(" %.2f mm of shim", math.Abs(a.Steps))
		orders = []Order{{first, "take out" + by}, {second, "put in" + by}}
	default:
		for _, t := range setup.Turns(a.Steps) {
			orders = append(orders, Order{t.Near, Turn(t)})
		}
	}
	return orders
}

// stack says what a stack measures, and of what it is made: "2.20 mm: 1.50 + 0.70".
func stack(s setup.Stack) string {
	var sizes []string
	for _, mm := range s.Sizes {
		sizes = append(sizes, hundredths(mm))
	}
	return hundredths(s.MM) + " mm: " + strings.Join(sizes, " + ")
}

// hundredths writes mm to the hundredth, or to the thousandth where it has one.
func hundredths(mm float64) string { return strings.TrimSuffix(fmt.Sprintf("%.3f", mm), "0") }

// Hands says what the hands do to follow an advice, in order: "1 far side OUT 2 ·
// 2 crown-wheel side IN 1 · 3 far side IN 1."; "" where there is no move.
func Hands(a setup.Advice) string {
	var does []string
	for i, o := range Orders(a) {
		does = append(does, fmt.Sprintf("%d %s %s", i+1, Side(o.Near), o.Does))
	}
	if does == nil {
		return ""
	}
	text, then := strings.Join(does, " · ")+".", " Then free the pinion, turn the wheel 4 turns each way"
	near, far := a.Sides()
	switch {
	case a.Shims:
		then = " Then fit the centre again, free the pinion, turn the wheel 4 turns each way"
		if more := near + far; math.Abs(more) >= 0.001 {
			text += fmt.Sprintf(" Together %+.3f mm: measure the preload too.", more)
		}
	case a.Capped:
		text = "Locks off, cap bolts to snug. " + text
	}
	if math.Mod(a.Steps, 1) != 0 && !a.Shims {
		text += " Half a notch is held by the lock turned over."
	}
	if a.Capped {
		then += ", torque the cap bolts again"
	}
	return text + then + " and hold the pinion."
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
		return "Nothing measured yet: measure the backlash."
	case setup.OpenWindow:
		return "The window needs both ends before a move can be worked out: write the one that is missing in job.toml."
	case setup.SpreadTooWide:
		return fmt.Sprintf("The spread of %.3f mm cannot fit in %.3f mm: no adjuster move cures it. Take the crown wheel off and find the run-out.", a.Spread, a.Room)
	case setup.AlreadyInside:
		return "Inside the window: leave the adjusters alone."
	case setup.MoveNeeded:
		return Hands(a) + forecast(a)
	}
	return noMove(a)
}

// noMove says why nothing is moved, and what to do instead: the aim is near enough,
// or the steps of the adjuster are too coarse to get any nearer.
func noMove(a setup.Advice) string {
	aim := fmt.Sprintf("%.3f mm", a.Target)
	if a.AimAsFound {
		aim += ", the mean as found"
	}
	off := math.Abs(a.Target - a.Mean)
	text := fmt.Sprintf("The mean is %.3f mm from the aim (%s), ", off, aim)
	reached, gain := a.Outcome == setup.NearEnough, math.Abs(a.Gain)
	switch {
	case a.Outcome == setup.NoStack:
		return text + fmt.Sprintf("and no stacks from the box move the wheel by the %.2f mm that takes. Get a shim that does, and add it to shim_sizes_mm in job.toml.", off/gain)
	case a.Shims && reached:
		return text + "less than a shim can change. Leave it." + decider[a.Decider]
	case a.Shims:
		return text + "less than a shim can change, and yet not inside: measure again with more rocks."
	case reached && a.Whole:
		return text + fmt.Sprintf("nearer than the next notch (%.3f mm). Leave it.", gain) + decider[a.Decider]
	case reached:
		return text + fmt.Sprintf("nearer than the next whole notch (%.3f mm). Leave it, or use the half-notch side of the lock.", gain) + decider[a.Decider]
	case a.Whole:
		return text + fmt.Sprintf("outside the window, and a notch (%.3f mm by the moves so far) would leave it as far off. Fit a lock that holds half notches and say so in job.toml, or measure again with more rocks.", gain)
	}
	return text + fmt.Sprintf("outside the window, and half a notch (%.3f mm by the moves so far) would leave it as far off: half notches cannot reach this window. Fit a lock with finer steps, or measure again with more rocks.", gain/2)
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
