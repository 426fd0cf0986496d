package main

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/motion"
	"crownlog/analysis/units"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/sheet"
)

// leastSwing is how far, in mm, a reading goes at least between two stops or when the
// stem is flicked: no gear has less backlash, and no push makes as much.
const leastSwing = 0.03

// A handStep is one rest of the hand check.
type handStep struct {
	say   string
	moved float64    // how far the reading goes on the way, mm
	other bool       // it ends at the other stop
	into  *[]float64 // where the rest goes, or how far it lies from the one before; nil: nowhere
}

// steps are the rests that are asked for: three flicks, three rocks with either push,
// five placements of the plunger.
func (c *gaugeHandCmd) steps() []handStep {
	steps := []handStep{{say: "Wheel against one stop, plunger on its tooth. Hands off."}}
	for range 3 {
		steps = append(steps, handStep{"Flick the stem and let it rest.", leastSwing, false, &c.Flicks})
	}
	for range 3 {
		steps = append(steps,
			handStep{"Push LIGHTLY against the other stop, and hold.", leastSwing, true, nil},
			handStep{"LIGHTLY back against the first stop, and hold.", leastSwing, true, &c.Light},
			handStep{"FIRMLY against the other stop, and hold.", leastSwing, true, nil},
			handStep{"FIRMLY back against the first stop, and hold.", leastSwing, true, &c.Firm})
	}
	for range 5 {
		steps = append(steps,
			handStep{"Lift the plunger and set it down anew on its tooth, wheel against a stop.", motion.DefaultLift, false, nil},
			handStep{"Against the other stop, and hold.", leastSwing, true, &c.SetDowns})
	}
	return steps
}

// read takes all values from the gauge, each once its reading stands, and returns
// the step of its display in mm. Where it fails nothing has been kept.
func (c *gaugeHandCmd) read(ctx context.Context, con *console, s sheet.Sheet) (step float64, err error) {
	profile, err := findProfile(con, cmp.Or(c.Gauge, s.Gauge.Profile, "text"))
	if err != nil {
		return 0, err
	}
	gauges := live.Start(ctx, device.NewGauge(c.Port, profile.On(c.Port), device.PortOpener(c.Port, profile.Serial), time.Now))
	defer gauges.Stop()
	start, said, digit := time.Now(), device.EventReading, 1.0
	var standing motion.Standing
	base, last := math.NaN(), 0.0
	steps := c.steps()
	prompt := func() {
		fmt.Fprintf(con.err, "\n%d/%d  %s\n", len(c.steps())-len(steps)+1, len(c.steps()), strings.ToUpper(steps[0].say))
	}
	prompt()
	for {
		var ev device.Event
		select {
		case <-ctx.Done():
			con.say("stopped: nothing is kept")
			return 0, errOutside
		case err := <-gauges.Failed():
			return 0, err
		case ev = <-gauges.Events():
		}
		rd := ev.Reading
		switch {
		case ev.Kind == device.EventLost:
			return 0, devicef("check the cable and start again: nothing is kept", "the gauge is gone: %s", ev.Text)
		case ev.Kind != device.EventReading:
			if ev.Kind != said { // of a kind once, until it reads again
				con.say("%s: %s", ev.Kind, ev.Text)
			}
			said = ev.Kind
			continue
		case rd.Flags&frame.FlagPress != 0:
			return 0, usagef("type the values instead", "this gauge sends at the press of its key alone")
		case rd.Flags&(frame.FlagHold|frame.FlagDuplicate|frame.FlagOverRange) != 0:
			continue
		}
		said = ev.Kind
		mm, err := units.Convert(1, cmp.Or(rd.Unit, profile.Unit, "mm"), "mm")
		if err != nil {
			return 0, usagef("choose its profile with --gauge", "%w", err)
		}
		digit = min(digit, math.Pow10(-feature.DecimalsOf(rd.Value)))
		standing.Step = cmp.Or(c.Resolution, mm*profile.Resolution, s.Gauge.ResolutionMM, mm*digit)
		level, moved, rested := standing.Add(analysis.Sample{T: rd.Time.Sub(start).Seconds(), X: mm * rd.Value})
		switch next := steps[0]; {
		case !rested:
		case math.Abs(level-base) > motion.DefaultLift:
			con.say("%s is not counted: the plunger is off its tooth", show(level, "mm"))
		case moved < next.moved, next.other && math.Abs(level-last) < leastSwing:
		default:
			if math.IsNaN(base) {
				base = level
			}
			value := level
			if next.other {
				value = math.Abs(level - last)
			}
			if next.into != nil {
				*next.into = append(*next.into, value)
				fmt.Fprintf(con.err, "      %s\n", show(value, "mm"))
			}
			if last, steps = level, steps[1:]; len(steps) == 0 {
				return standing.Step, nil
			}
			prompt()
		}
	}
}
