package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"crownlog/analysis"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// runoutPicture unrolls a run-out over one turn of the wheel: the readings
// about their mean, the once per turn part dashed, and the sum of once and
// twice per turn. A continuous turn has no points; its harmonics alone are
// drawn.
func runoutPicture(r Runout) *drawing {
	mean := 0.0
	for _, p := range r.Points {
		mean += p.Value / float64(len(r.Points))
	}
	once := func(deg float64) float64 { return harmonicAt(r.Runout.H1, 1, deg) }
	sum := func(deg float64) float64 { return once(deg) + harmonicAt(r.Runout.H2, 2, deg) }
	s := newSpan()
	for deg := 0.0; deg <= 360; deg += 5 {
		s.add(sum(deg), once(deg))
	}
	for _, p := range r.Points {
		s.add(p.Value - mean)
	}
	low, high := s.widened(0.1, 1e-3)
	c := newChart(low, high, "mm about the mean", r.title(), runoutWords(r))
	c.grid()
	if r.Runout.H1 != nil {
		c.turn(sum, inkCurve)
	}
	if r.Runout.H1 != nil && r.Runout.H2 != nil {
		c.turn(once, inkDashed)
	}
	for _, p := range r.Points {
		c.circle(ink{fill: colourPaper, stroke: colourInside, width: 1.4}, point{c.angle(math.Mod(math.Mod(p.AngleDeg, 360)+360, 360)), c.y.at(p.Value - mean)}, 3.4)
	}
	for deg := 0; deg <= 360; deg += 90 {
		x := c.angle(float64(deg))
		c.line(inkAxis, point{x, c.bottom}, point{x, c.bottom + 3})
		c.under(x, strconv.Itoa(deg)+"°")
	}
	c.axis("angle of the wheel")
	return c.drawing
}

// angle is where an angle of 0 to 360 degrees stands.
func (c chart) angle(deg float64) float64 { return c.left + deg/360*(c.right-c.left) }

// turn draws f over one turn.
func (c chart) turn(f func(deg float64) float64, i ink) {
	var ps []point
	for deg := 0.0; deg <= 360; deg += 4 {
		ps = append(ps, point{c.angle(deg), c.y.at(f(deg))})
	}
	c.polyline(i, ps, false)
}

// runoutWords says what the picture shows.
func runoutWords(r Runout) string {
	f := r.Format
	s := "Full indicator movement " + f.quantity(r.Runout.FIM)
	if h := r.Runout.H1; h != nil {
		s += fmt.Sprintf(", once per turn %s with its high spot at %.0f°", f.quantity(h.Movement()), h.PhaseDeg)
	}
	if h := r.Runout.H2; h != nil {
		s += fmt.Sprintf(", twice per turn %s at %.0f°", f.quantity(h.Movement()), h.PhaseDeg)
	}
	return s + ". " + upperFirst(f.windowWords(r.Spec.Limits)) + "."
}

// runoutSection is a picture and the figures of each run-out.
func runoutSection(d Data) section {
	if len(d.Runouts) == 0 {
		return section{}
	}
	var panels row
	for _, r := range d.Runouts {
		if len(r.Points) == 0 && r.Runout.H1 == nil {
			continue // the full movement only: nothing to draw
		}
		p := runoutPicture(r)
		p.caption(upperFirst(r.title()) + ", " + stageTitle(r.Stage))
		panels = append(panels, panel{Share: 1, Picture: p})
	}
	lines := append(runoutNotes(d.Runouts), conclusions(d, record.FeatureRunoutBackFace, record.FeatureBacklash)...)
	last := panel{Share: 1, Table: runoutTable(d.Runouts)}
	s := section{Title: "Run-out"}
	if len(panels)%3 == 0 { // no place beside the pictures
		last.Lines, lines = lines, nil
	}
	if len(panels) > 0 {
		s.Rows = thirds(panels, lines)
	}
	s.Rows = append(s.Rows, row{last})
	return s
}

// runoutNotes says what was left out of a run-out, and why one is missing.
func runoutNotes(runouts []Runout) []string {
	var lines []string
	for _, r := range runouts {
		if r.Runout.Refused {
			lines = append(lines, upperFirst(r.title())+" could not be measured: "+words.Joined(r.Runout.Notes)+".")
		}
		for _, s := range r.Runout.Spikes {
			lines = append(lines, fmt.Sprintf("%s: a narrow spot at %.0f°, %s mm, is left out%s.", upperFirst(r.title()), s.AngleDeg,
				r.Format.signed(s.Height), given(s.Repeats, "; it came back a turn later: burr, paint or bruise")))
		}
	}
	return lines
}

// runoutTable has a row for each run-out.
func runoutTable(runouts []Runout) *table {
	t := &table{
		Caption: "mm. Circles: readings; dashed: once a turn (1×); line: with twice (2×), full movement at the angle of the high spot.",
		Columns: []column{{"", false}, {"Full movement", true}, {"Limit", true}, {"1× a turn", true}, {"2× a turn", true}, {"Rest, s.d.", true}, {"If re-seated", true}, {"Verdict", false}},
	}
	for _, r := range runouts {
		name := upperFirst(strings.TrimPrefix(r.title(), "run-out of the ")) + given(r.Stage != "", ", "+shortStage(r.Stage))
		t.Rows = append(t.Rows, []entry{
			plain(name), plain(r.Format.figure(r.Runout.FIM)), plain(Format{Decimals: r.Format.Decimals}.limits(r.Spec.Limits)),
			plain(harmonicText(r.Runout.H1, r.Format)), plain(harmonicText(r.Runout.H2, r.Format)),
			plain(r.Format.figure(r.Runout.ResidualSD)), plain(r.Format.figure(r.Runout.FIMIfReseated)),
			judged(r.Verdict, r.Verdict.String()),
		})
	}
	return t
}

func harmonicText(h *analysis.Harmonic, f Format) string {
	if h == nil {
		return missing
	}
	return fmt.Sprintf("%s at %.0f°", f.figure(h.Movement()), h.PhaseDeg)
}
