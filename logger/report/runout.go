package report

import (
	"fmt"
	"strings"

	"crownlog/logger/record"
	"crownlog/logger/words"
)

// runoutSection is a wheel and the figures of each run-out.
func runoutSection(d Data) section {
	s := section{Title: "Run-out"}
	t := &table{
		Caption: "mm. Wheels: readings as the gauge showed them, and the once and twice a turn part; 1×, 2×: their full movement at the angle of the high spot.",
		Columns: []column{{"", false}, {"Full movement", true}, {"Limit", true}, {"1× a turn", true}, {"2× a turn", true}, {"Rest, s.d.", true}, {"If re-seated", true}, {"Verdict", false}},
	}
	var wheels row
	for _, m := range d.of(runouts...) {
		f, r := m.Format, m.Runout
		if len(m.places()) > 0 || r.H1 != nil { // else there is the full movement only
			p := d.wheel(m, nil)
			p.caption(p.title)
			wheels = append(wheels, panel{Share: 1, Picture: p})
		}
		name := upperFirst(strings.TrimPrefix(m.title(), "run-out of the ")) + given(m.Stage != "", ", "+stageTitle(m.Stage))
		t.Rows = append(t.Rows, []entry{
			plain(name), plain(f.figure(r.FIM)), plain(Format{Decimals: f.Decimals}.limits(m.Spec.Limits)),
			plain(harmonicText(r.H1, f)), plain(harmonicText(r.H2, f)),
			plain(f.figure(r.ResidualSD)), plain(f.figure(r.FIMIfReseated)),
			judged(m.Verdict, m.Verdict.String()),
		})
	}
	if len(t.Rows) == 0 {
		return s
	}
	lines := append(runoutNotes(d.of(runouts...)), conclusions(d, record.FeatureRunoutBackFace, record.FeatureBacklash)...)
	s.Rows = append(thirds(wheels), row{{Share: 1, Table: t, Lines: lines}})
	return s
}

// runoutNotes says what was left out of a run-out, and why one is missing.
func runoutNotes(ms []Measured) []string {
	var lines []string
	for _, m := range ms {
		title := upperFirst(m.title())
		if m.Runout.Refused {
			lines = append(lines, title+" could not be measured: "+words.Joined(m.Runout.Notes)+".")
		}
		for _, s := range m.Runout.Spikes {
			lines = append(lines, fmt.Sprintf("%s: a narrow spot at %.0f°, %s mm, is left out%s.", title, s.AngleDeg,
				m.Format.signed(s.Height), given(s.Repeats, "; it came back a turn later: burr, paint or bruise")))
		}
	}
	return lines
}
