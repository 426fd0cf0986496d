package dashboard

import (
	"fmt"
	"slices"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// A JobView is the whole job at one moment: its steps in trade order and its
// hold points. It is a value: nothing in it changes after it is handed out.
type JobView struct {
	Vehicle  string
	Invented bool
	Steps    []job.Step
	Holds    []job.HoldPoint
	Moves    []job.MoveResult // adjuster moves with what they were expected to do
	Attached []string         // what each photo or paper shows, and its size
}

// next is the index of the first step that needs something, -1 if none does.
func (j JobView) next() int {
	for i, s := range j.Steps {
		if s.Open() && (s.Complete || !s.Optional) {
			return i
		}
	}
	return -1
}

// open lists the hold points that are in the way.
func (j JobView) open() []job.HoldPoint {
	var next job.Step
	if i := j.next(); i >= 0 {
		next = j.Steps[i]
	}
	return job.InTheWay(j.Holds, next)
}

// jobState is what the fitter has chosen in the job view.
type jobState struct {
	chosen int  // a step, 1-based; 0: the next one
	hold   int  // among the open hold points
	fixed  bool // nothing can be overridden from here
	stays  bool // no step can be chosen from here
}

// at is the index of the chosen step.
func (st jobState) at(j JobView) int {
	if st.chosen > 0 {
		return min(st.chosen, len(j.Steps)) - 1
	}
	return max(j.next(), 0)
}

// choose moves the choice by so many steps.
func (st *jobState) choose(j JobView, by int) {
	if !st.stays {
		st.chosen = min(max(st.at(j)+by, 0), len(j.Steps)-1) + 1
	}
}

// paintJob draws the steps on the left and the hold points on the right, with the
// reason being typed; a narrow screen has the steps only.
func paintJob(c canvas, j JobView, st jobState, typed typedLine) {
	if c.w < 20 || c.h < 5 {
		return
	}
	done := 0
	for _, s := range j.Steps {
		if s.Complete {
			done++
		}
	}
	right := fmt.Sprintf("%d of %d steps ", done, len(j.Steps))
	if j.Invented {
		right = "INVENTED DATA · " + right
	}
	c.bar("job · "+j.Vehicle, right, inkHeader)
	open := j.open()
	if st.fixed {
		open = nil
	}
	keysLine(c.pane(0, c.h-1, c.w, 1), jobKeys(st, open, typed.what == typedHold))
	body := c.pane(1, 1, c.w-2, c.h-2)
	left := body.w * 11 / 20
	if c.w < fullWidth {
		left = body.w
	}
	paintSteps(body.pane(0, 0, left-1, body.h), j, st)
	if left < body.w {
		paintHolds(body.pane(left+1, 0, body.w-left-1, body.h), j, st, typed)
	}
}

// paintSteps lists the steps by stage; on a short screen it shows the stretch
// around the chosen one.
func paintSteps(c canvas, j JobView, st jobState) {
	next, chosen := j.next(), st.at(j)
	type row struct {
		text string
		k    ink
		step int
	}
	var rows []row
	stage := ""
	for i, s := range j.Steps {
		if s.Stage != stage {
			stage = s.Stage
			rows = append(rows, row{stage, inkStrong, -1})
		}
		mark, k := "○", inkPlain
		switch {
		case s.Complete && s.Verdict != gum.Inside && s.Verdict != gum.NotDecided:
			mark, k = string(verdictLooks[s.Verdict].mark), verdictLooks[s.Verdict].k
		case s.Complete:
			mark, k = "✓", inkInside
		case len(s.Hold) > 0:
			mark, k = "■", inkDoubt
		case i == next:
			mark, k = "▶", inkStrong
		case s.Optional, s.Missed:
			k = inkFaint
		}
		if i == chosen && !st.stays {
			k = inkCurrent
		}
		rows = append(rows, row{"  " + mark + " " + stepText(s, i == next), k, i})
	}
	at := slices.IndexFunc(rows, func(r row) bool { return r.step == chosen })
	top := max(min(at-c.h/2, len(rows)-c.h), 0)
	for y, r := range rows[top:] {
		c.text(0, y, clip(r.text, c.w), r.k)
	}
}

func stepText(s job.Step, next bool) string {
	text := record.Title(s.Feature)
	if s.Needed > 1 && !s.Complete && s.Measured > 0 {
		text += fmt.Sprintf(" %d/%d", s.Measured, s.Needed)
	}
	switch {
	case s.Verdict == gum.Outside && record.IsPattern(s.Feature):
		text += " STOP"
	case s.Verdict == gum.Outside:
		text += " OUTSIDE"
	case s.Verdict == gum.TooClose:
		text += " " + strings.ToUpper(logger.NotSure)
	case s.Complete:
		text += " done"
	case s.Skipped != "":
		text += " SKIPPED"
	case s.Missed:
		text += " missed"
	case len(s.Hold) > 0:
		text += " HELD"
	case next:
		text += " NEXT"
	case s.Optional:
		text += " (optional)"
	}
	return text
}

// paintHolds writes the hold points with their reasons, the field for an
// override, and the caution of the next step.
func paintHolds(c canvas, j JobView, st jobState, typed typedLine) {
	col := column{canvas: c}
	open := j.open()
	if len(open) == 0 {
		col.say("No hold point is open.", inkFaint)
	}
	for i, h := range open {
		k, mark := inkPlain, "■ "
		if i == st.hold {
			k, mark = inkStrong, "▶ "
		}
		col.say(mark+"HOLD before "+h.Before, k)
		col.say(h.Reason, inkPlain)
		col.y++
	}
	if typed.what == typedHold {
		col.say("Reason for going on all the same:", inkStrong)
		if col.y < c.h {
			c.text(0, col.y, "> "+tail(typed.text, c.w-3)+"_", inkCurrent)
			col.y += 2
		}
	}
	for i, m := range j.Moves {
		col.say(fmt.Sprintf("Move %d by %s mm", i+1, moveText(m)), inkPlain)
	}
	if len(j.Moves) > 0 {
		col.y++
	}
	for _, a := range j.Attached {
		col.say("Attached: "+a, inkPlain)
	}
	for _, h := range j.Holds {
		if h.Skipped != "" {
			col.say("Skipped before "+h.Before+": "+h.Skipped, inkDoubt)
			col.y++
		}
	}
	if n := j.next(); n >= 0 {
		col.say(cautionText(j.Steps[n].Caution), inkCaution)
	}
}

func cautionText(s string) string {
	if s == "" {
		return ""
	}
	return "CAUTION: " + s
}
