package logger

import (
	"fmt"
	"math"
)

// numberWords say small counts as a fitter does.
var numberWords = []string{"no times", "once", "twice", "three times", "four times", "five times", "six times"}

func times(n int) string {
	if n >= 0 && n < len(numberWords) {
		return numberWords[n]
	}
	return fmt.Sprintf("%d times", n)
}

// action is the next thing to do, in one sentence or two short ones.
func (r *Round) action() string {
	p := r.positions[r.visits[r.current].position]
	switch {
	case r.done:
		return r.doneAction()
	case r.paused:
		return "Paused. Nothing is measured until you go on."
	case r.state == StateLost:
		return "Plug the gauge in again."
	case r.feat.kind == kindLeak && r.cfg.Keyed:
		return r.measure.(*airMeasure).action()
	case r.cfg.Keyed && r.feat.kind != kindPattern && r.feat.kind != kindCount:
		return r.keyedAction(p)
	}
	switch r.feat.kind {
	case kindRocking:
		return r.rockingAction(p)
	case kindRunout:
		return r.runoutAction()
	case kindBolts:
		return r.boltAction(p)
	case kindTurning:
		return r.turningAction()
	case kindLeak:
		return r.leakAction()
	case kindPattern:
		if p.Index == 1 {
			return "Where does the contact lie along the tooth? -1 toe, 0 middle, +1 heel."
		}
		return "Where does it lie up the tooth? -1 root, 0 middle, +1 face."
	}
	return r.countAction(p)
}

// atAngle names a position on the wheel: "position 4, 135 degrees".
func atAngle(p Position) string {
	if math.IsNaN(p.AngleDeg) {
		return p.Label
	}
	return fmt.Sprintf("position %d, %.0f degrees", p.Index, p.AngleDeg)
}

// turnTo says how the wheel is brought to the place of visit k: "turn to
// position 4, 135 degrees", or by whole turns of the pinion where the positions
// go by them and the place before is known.
func (r *Round) turnTo(k int) string {
	to := r.visits[k].position
	p := r.positions[to]
	turns, way, from := 0, "", r.visits[r.current].position
	if k == r.current {
		from = r.visits[r.came].position
	}
	for i := min(from, to) + 1; i <= max(from, to); i++ {
		turns += r.positions[i].PinionTurns
	}
	if to < from {
		way = " back"
	}
	switch turns {
	case 0:
		return "turn to " + atAngle(p)
	case 1:
		return fmt.Sprintf("turn the pinion%s one whole turn, to position %d", way, p.Index)
	}
	return fmt.Sprintf("turn the pinion%s %d whole turns, to position %d", way, turns, p.Index)
}

func (r *Round) keyedAction(p Position) string {
	switch {
	case r.feat.kind == kindBolts:
		return r.boltAction(p)
	case r.feat.kind == kindTurning:
		return fmt.Sprintf("Type %s in %s, or pull and radius of a spring scale: 40 N x 35 mm.", r.feat.title, r.typedUnit())
	case math.IsNaN(p.AngleDeg):
		return fmt.Sprintf("Type %s in %s.", r.feat.title, r.typedUnit())
	}
	return fmt.Sprintf("%s. Type the %s in %s.", capitalise(r.turnTo(r.current)), r.feat.title, r.typedUnit())
}

func (r *Round) rockingAction(p Position) string {
	v := View{Needed: usualRocks}
	r.measure.fill(&v)
	switch {
	case r.captured() && r.cfg.HandsOff:
		return "Stored. " + r.nextPlace("Lift the plunger and %s.")
	case r.captured():
		return "Stored. " + r.nextPlace("Press next and %s.")
	case v.Rocks > 0 && v.Rocks < v.Needed:
		return fmt.Sprintf("Rock it %s more.", times(v.Needed-v.Rocks))
	case v.Rocks > 0 && r.cfg.ByKey:
		return "Enough rocks: capture."
	}
	return fmt.Sprintf("%s. Rock %s.", capitalise(r.turnTo(r.current)), times(v.Needed))
}

// turningAction says how to turn, and whether the seal belongs in for it: a new
// seal drags about as much as a light preload (common practice, no source).
func (r *Round) turningAction() string {
	text := "Turn the pinion steadily, one turn in one or two seconds, then let go."
	if seal := r.cfg.Sheet.Preload.WithSeal; seal != nil && *seal {
		return text + " The seal is fitted for it."
	} else if seal != nil {
		return text + " The seal is not fitted yet."
	}
	return text
}

// nextPlace fills in where the round goes on.
func (r *Round) nextPlace(format string) string {
	k := r.nextOpen()
	if k < 0 {
		return ""
	}
	return fmt.Sprintf(format, r.turnTo(k))
}

func (r *Round) runoutAction() string {
	if m, ok := r.measure.(*levelMeasure); ok {
		return m.action()
	}
	return "Turn the wheel steadily one way, two turns in about a minute, then capture."
}

func (r *Round) doneAction() string {
	switch {
	case r.advice != nil && r.advice.Needed:
		return r.advice.Hands
	case r.advice != nil:
		return r.advice.Text
	}
	if r.feat.name == FeatureRunoutBackFace && r.conclusion != "" {
		return r.conclusion
	}
	return capitalise(r.doneText()) + "."
}

func (r *Round) countAction(p Position) string {
	if r.feat.name == FeatureEngagement {
		text := fmt.Sprintf("Apply the air, turn a wheel by hand, vent (%s of %d). Did it lock and free? ", p.Label, len(r.positions))
		if r.cfg.NoKeys {
			return text + "Type yes, or the seconds it took to lock; else no lock or no free."
		}
		return text + "Press y, with the seconds it took if you have them, or l or f; then enter."
	}
	return fmt.Sprintf("Type the litres of %s.", r.feat.title)
}
