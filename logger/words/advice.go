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

// by is what is done on a side: "in 1", "out 0.5", or "+0.05 mm of shim".
func by(amount float64, shims bool) string {
	switch {
	case shims:
		return fmt.Sprintf("%+g mm of shim", amount)
	case amount < 0:
		return fmt.Sprintf("out %g", -amount)
	}
	return fmt.Sprintf("in %g", amount)
}

// Moved says what a move did to the sides: "crown-wheel side in 1, far side out 1".
func Moved(near, far float64, shims bool) string {
	var did []string
	for i, amount := range []float64{near, far} {
		if amount != 0 {
			did = append(did, Side(i == 0)+" "+by(amount, shims))
		}
	}
	return strings.Join(did, ", ")
}

// An Order is one thing that hands do: what, and on which side.
type Order struct {
	Near bool
	Does string // "OUT 2", "2.20 mm: 1.50 + 0.70", "-0.10 mm of shim"
}

// Orders are what the hands do to follow an advice, one after the other; nil where
// there is no move.
func Orders(a setup.Advice) []Order {
	var orders []Order
	switch {
	case !a.Needed:
	case a.Shims:
		orders = []Order{{false, stack(a.Far)}, {true, stack(a.Near)}}
		if a.Steps < 0 { // the side that gives way comes first
			slices.Reverse(orders)
		}
	default:
		for _, t := range setup.Turns(a.Steps) {
			orders = append(orders, Order{t.Near, strings.ToUpper(by(t.By, false))})
		}
	}
	return orders
}

// stack says what a stack measures, and of what it is made, or by what it changes
// where that is all that is known.
func stack(s setup.Side) string {
	if s.MM == 0 {
		return by(s.By, true)
	}
	var sizes []string
	for _, mm := range append([]float64{s.MM}, s.Sizes...) {
		sizes = append(sizes, strings.TrimSuffix(fmt.Sprintf("%.3f", mm), "0"))
	}
	return sizes[0] + " mm: " + strings.Join(sizes[1:], " + ")
}

// Hands says what the hands do to follow an advice, in order: "1 far side OUT 2 ·
// 2 crown-wheel side IN 1 · 3 far side IN 1."; "" where there is no move.
func Hands(a setup.Advice) string {
	if !a.Needed {
		return ""
	}
	var does []string
	for i, o := range Orders(a) {
		does = append(does, fmt.Sprintf("%d %s %s", i+1, Side(o.Near), o.Does))
	}
	text, then := strings.Join(does, " · ")+".", " Then "
	switch thicker := a.Near.By + a.Far.By; {
	case a.Shims:
		then += "fit the centre again, "
		text += Given(math.Abs(thicker) >= 0.001, fmt.Sprintf(" Together %+.3f mm: measure the preload too.", thicker))
	case math.Mod(a.Steps, 1) != 0:
		text += " Half a notch is held by the lock turned over."
	}
	then += "free the pinion, turn the wheel 4 turns each way"
	if a.Capped {
		then += ", torque the cap bolts again"
		text = Given(!a.Shims, "Locks off, cap bolts to snug. ") + text
	}
	return text + then + " and hold the pinion."
}

// A Length writes a length in mm, and its uncertainty, in the unit of who reads it,
// "0.0060 ± 0.0004 in": see sheet.Sheet.Length. Shims are mm, as job.toml lists them and
// moves are recorded.
type Length func(mm ...float64) string

// Advice says what to do with the adjusters and what it should lead to, or why
// there is nothing to move.
func Advice(a setup.Advice, length Length) string {
	text := adviceOf(a, length)
	if a.Again != nil {
		text += fmt.Sprintf(" The spread of %s is too close to the %s it has: measure positions %d and %d again with more rocks before the crown wheel comes off.",
			length(a.Spread), length(a.Room), a.Again[0], a.Again[1])
	}
	return text
}

func adviceOf(a setup.Advice, length Length) string {
	switch a.Outcome {
	case setup.NothingMeasured:
		return "Nothing measured yet: measure the backlash."
	case setup.OpenWindow:
		return "The window needs both ends before a move can be worked out: write the one that is missing in job.toml."
	case setup.SpreadTooWide:
		return fmt.Sprintf("The spread of %s cannot fit in %s: no adjuster move cures it. Take the crown wheel off and find the run-out.", length(a.Spread), length(a.Room))
	case setup.AlreadyInside:
		return "Inside the window: leave the adjusters alone."
	case setup.MoveNeeded:
		return Hands(a) + forecast(a, length)
	}
	return noMove(a, length)
}

// noMove says why nothing is moved, and what to do instead: the aim is near enough,
// or the steps of the adjuster are too coarse to get any nearer.
func noMove(a setup.Advice, length Length) string {
	off, step, gain := math.Abs(a.Target-a.Mean), "half a notch", math.Abs(a.Gain)/2
	if a.Whole {
		step, gain = "a notch", math.Abs(a.Gain)
	}
	text := fmt.Sprintf("The mean is %s from the aim (%s%s), ", length(off), length(a.Target), Given(a.AimAsFound, ", the mean as found"))
	leave := "Leave it." + Given(a.TooClose, " More rocks at the outermost positions, or a finer gauge, would decide it.")
	switch {
	case a.Outcome == setup.NoStack:
		return text + fmt.Sprintf("and no stacks from the box move the wheel by the %.2f mm that takes. Get a shim that does, and add it to shim_sizes_mm in job.toml.", off/math.Abs(a.Gain))
	case a.Outcome == setup.NearEnough && a.Shims:
		return text + "less than a shim can change. " + leave
	case a.Outcome == setup.NearEnough:
		return text + fmt.Sprintf("nearer than the next whole notch (%s). ", length(math.Abs(a.Gain))) + leave
	case a.Shims:
		return text + "less than a shim can change, and yet not inside: measure again with more rocks."
	}
	return text + fmt.Sprintf("outside the window, and %s (%s by the moves so far) would leave it as far off. Fit a lock with finer steps, or measure again with more rocks.", step, length(gain))
}

// forecast says what the move should do.
func forecast(a setup.Advice, length Length) string {
	return fmt.Sprintf(" The mean should become %s.", length(a.Predicted, 2*a.PredictedU)) +
		Given(!a.SignKnown, " Which way the backlash goes is not known yet: this move shows it.") +
		Given(a.Coarse, " A notch is coarse for this window: it may not come to lie inside at the first go.")
}
