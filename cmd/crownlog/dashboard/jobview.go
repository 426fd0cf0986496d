package dashboard

import (
	"fmt"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A JobView is the whole job at one moment: its steps in trade order and its
// hold points. It is a value: nothing in it changes after it is handed out.
type JobView struct {
	Steps    []job.Step
	Holds    []job.HoldPoint
	Moves    []string // what each adjuster move was expected to do, and did
	Attached []string // what each photo or paper shows, and its size
}

// open lists the hold points that are in the way.
func (j JobView) open() []job.HoldPoint {
	var next job.Step
	if i := job.NextOf(j.Steps); i >= 0 {
		next = j.Steps[i]
	}
	return job.InTheWay(j.Holds, next)
}

// jobState is what the fitter has chosen in the job view.
type jobState struct {
	chosen int  // a step, 1-based; 0: the next one
	hold   int  // among the open hold points
	stays  bool // no step can be chosen from here, and no hold point passed
}

// at is the index of the chosen step.
func (st jobState) at(j JobView) int {
	if st.chosen > 0 {
		return min(st.chosen, len(j.Steps)) - 1
	}
	return max(job.NextOf(j.Steps), 0)
}

// choose moves the choice by so many steps.
func (st *jobState) choose(j JobView, by int) {
	if !st.stays {
		st.chosen = min(max(st.at(j)+by, 0), len(j.Steps)-1) + 1
	}
}

// paintJob draws the steps on the left and the hold points on the right; a narrow
// screen has the steps only.
func paintJob(c canvas, j JobView, st jobState, s roundScene) {
	done := 0
	for _, step := range j.Steps {
		if step.Complete {
			done++
		}
	}
	right := words.Given(s.Invented, "INVENTED DATA · ") + fmt.Sprintf("%d of %d steps ", done, len(j.Steps))
	c.bar("job · "+s.Vehicle, right, inkHeader)
	open := j.open()
	if st.stays {
		open = nil
	}
	keysLine(c.pane(0, c.h-1, c.w, 1), jobKeys(st, open))
	body := c.pane(1, 1, c.w-2, c.h-2)
	left := body.w * 11 / 20
	if c.w < fullWidth {
		left = body.w
	}
	paintSteps(body.pane(0, 0, left-1, body.h), j, st)
	if left < body.w {
		paintHolds(body.pane(left+1, 0, body.w-left-1, body.h), j, st)
	}
}

// paintSteps lists the steps by stage; on a short screen it shows the stretch
// around the chosen one.
func paintSteps(c canvas, j JobView, st jobState) {
	next, chosen, at := job.NextOf(j.Steps), st.at(j), 0
	var rows []part
	for i, s := range j.Steps {
		if i == 0 || s.Stage != j.Steps[i-1].Stage {
			rows = append(rows, part{s.Stage, inkStrong})
		}
		look := stepLook(s, i == next)
		if i == chosen {
			at = len(rows)
			if !st.stays {
				look.k = inkCurrent
			}
		}
		text := fmt.Sprintf("  %c %s", look.mark, record.Title(s.Feature)) +
			words.Given(s.Needed > 1 && !s.Complete && s.Measured > 0, fmt.Sprintf(" %d/%d", s.Measured, s.Needed))
		rows = append(rows, part{strings.TrimRight(text+" "+look.says, " "), look.k})
	}
	top := max(min(at-c.h/2, len(rows)-c.h), 0)
	for y, r := range rows[top:] {
		c.text(0, y, clip(r.text, c.w), r.k)
	}
}

// stepLook is how a step of the job stands.
func stepLook(s job.Step, next bool) look {
	verdict := verdictLooks[s.Verdict]
	switch {
	case s.Verdict == gum.Outside && record.IsPattern(s.Feature):
		return look{verdict.mark, verdict.k, "STOP"}
	case s.Verdict == gum.Outside, s.Verdict == gum.TooClose:
		return look{verdict.mark, verdict.k, strings.ToUpper(verdict.says)}
	case s.Complete:
		return look{'✓', inkInside, "done"}
	case s.Skipped != "":
		return look{'○', inkPlain, "SKIPPED"}
	case s.Missed:
		return look{'○', inkFaint, "missed"}
	case len(s.Hold) > 0:
		return look{'■', inkDoubt, "HELD"}
	case next:
		return look{'▶', inkStrong, "NEXT"}
	case s.Optional:
		return look{'○', inkFaint, "(optional)"}
	}
	return look{'○', inkPlain, ""}
}

// paintHolds writes the hold points with their reasons, and the caution of the next
// step.
func paintHolds(c canvas, j JobView, st jobState) {
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
	for i, m := range j.Moves {
		col.say(fmt.Sprintf("Move %d by %s", i+1, m), inkPlain)
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
	if n := job.NextOf(j.Steps); n >= 0 {
		col.say(cautionText(j.Steps[n].Caution), inkCaution)
	}
}

func cautionText(s string) string { return record.Fronted("", "CAUTION: ", s) }
