package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"crownlog/analysis/leak"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
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

// bolts are the last pulls in the order of the sequence; a value of NaN: not
// tightened.
func (d Data) bolts(m Measured) []feature.Result {
	list, _ := d.Sheet.BoltList(m.Feature)
	return Each(list.Order(), func(number int) feature.Result {
		for _, r := range m.Results {
			if r.Capture.Position == number {
				return r
			}
		}
		return feature.Result{Capture: record.Capture{Position: number, Value: math.NaN(), U: math.NaN()}}
	})
}

// torques says how many bolts are tight, and from where to where.
func (d Data) torques(m Measured) string {
	all := Each(d.bolts(m), func(b feature.Result) float64 { return b.Capture.Value })
	tight := slices.DeleteFunc(slices.Clone(all), math.IsNaN)
	low, high := extent(tight)
	return fmt.Sprintf("%d of %d", len(tight), len(all)) + given(len(tight) > 0, ", "+m.Format.figure(low)+" to "+m.Format.figure(high))
}

// widestBolts is how many columns of torques fit across the page.
const widestBolts = 12

// boltSection has a column a bolt in tightening order, with its final torque, its
// verdict, and the largest of their uncertainties in the caption; behind them the
// facts that matter later.
func boltSection(d Data) section {
	s := section{Title: "Bolt torque in sequence"}
	for _, m := range d.of(boltLists...) {
		list, _ := d.Sheet.BoltList(m.Feature)
		f := m.Format
		caption := upperFirst(m.title()) + ", " + stageTitle(m.Stage) + ": final torque in tightening order, " + f.Unit + f.doubt(m.expanded())
		notes := dropEmpty(fmt.Sprintf("%s: %s; target %s, %s.", upperFirst(m.title()), d.torques(m), f.figure(list.TargetNm()), f.limits(m.Spec.Limits)),
			given(list.LeftHand, "Left-hand threads."),
			given(list.OneTime, "One-time bolts: new ones at every removal."),
			given(list.AngleDeg > 0, fmt.Sprintf("Then turned on by %g°: the torques are those before it.", list.AngleDeg)),
			given(list.ThreadLocker, "Thread-locker: no re-strike once it has set."))
		for part := range slices.Chunk(d.bolts(m), widestBolts) {
			t := &table{Caption: caption, Columns: []column{{"Bolt", false}}, Rows: [][]entry{{plain("Torque")}}}
			for _, bolt := range part {
				c := bolt.Capture
				t.Columns = append(t.Columns, column{strconv.Itoa(c.Position), true})
				t.Rows[0] = append(t.Rows[0], judged(bolt.Verdict, f.figure(c.Value)))
				if math.IsNaN(c.Value) {
					notes = append(notes, fmt.Sprintf("Bolt %d: no torque on record.", c.Position))
				}
			}
			s.Rows, caption = append(s.Rows, row{{Share: 1, Table: t}}), "continued"
		}
		s.Rows = append(s.Rows, row{{Share: 1, Lines: notes}})
	}
	return s
}

// contactWords says where the contact lies.
func contactWords(c *setup.Contact) string {
	if c == nil {
		return missing
	}
	along, up := c.Zones()
	return [...]string{"towards the toe", "in the middle of the length", "towards the heel"}[along+1] + ", " +
		[...]string{"towards the root", "halfway up", "towards the face"}[up+1]
}

// contactSection says where the contact lies on both flanks and draws the air tests.
func contactSection(d Data) section {
	t := &table{
		Caption: "Where the contact lies on the tooth, as entered.",
		Columns: []column{{"Stage", false}, {"Drive flank", false}, {"Coast flank", false}, {"What it asks for", false}},
	}
	for _, p := range d.Patterns {
		advice := cmp.Or(words.Contact(p.Advice), missing)
		t.Rows = append(t.Rows, []entry{plain(stageTitle(p.Stage)), plain(contactWords(p.Flanks[0])), plain(contactWords(p.Flanks[1])), plain(advice)})
	}
	s := section{Rows: leakRows(d)}
	titles := dropEmpty(given(len(t.Rows) > 0, "Contact pattern"), given(len(s.Rows) > 0, "Air test"))
	s.Title = strings.Join(titles, ", ")
	if len(t.Rows) > 0 {
		s.Rows = append([]row{{{Share: 1, Table: t}}}, s.Rows...)
	}
	return s
}

// mostPoints is about how many points of a curve can be told apart in a picture.
const mostPoints = 300

// leakPicture draws the pressure over the test, as read too where the temperature
// was taken out, with the straight line of the fitted loss.
func leakPicture(m Measured, curve []leak.Sample) *drawing {
	t0, t1 := curve[0].T, curve[len(curve)-1].T
	var pressures []float64
	var mean, middle float64 // pressure and time in the middle of the curve
	for i, p := range curve {
		pressures = append(pressures, p.P, m.Curve[i].P)
		mean, middle = mean+p.P/float64(len(curve)), middle+p.T/float64(len(curve))
	}
	low, high := extent(pressures)
	margin := 0.15*(high-low) + 0.2
	d := &drawing{width: 270, height: 118, title: "Air test, " + stageTitle(m.Stage), desc: fmt.Sprintf("Loses %s.", m.Format.quantity(m.Value))}
	const left, right, top, bottom = 46, 258, 22, 84
	kPa := newScale(low-margin, high+margin, bottom, top, 4)
	minutes := newScale(0, math.Max((t1-t0)/60, 1e-9), left, right, 5)
	for _, v := range kPa.ticks {
		y := kPa.at(v)
		d.line(inkHair, point{left, y}, point{right, y})
		d.write(inkSoft, anchorEnd, 10, left-5, y+3.5, kPa.figure(v))
	}
	for _, v := range minutes.ticks {
		d.write(inkSoft, anchorMiddle, 10, minutes.at(v), bottom+13, minutes.figure(v))
	}
	d.polyline(inkAxis, []point{{left, top}, {left, bottom}, {right, bottom}}, false)
	d.write(inkSoft, "", 10, left, top-9, "kPa")
	d.write(inkSoft, anchorMiddle, 10, (left+right)/2, bottom+28, "minutes")
	at := func(t, p float64) point { return point{minutes.at((t - t0) / 60), kPa.at(p)} }
	trace := func(i ink, curve []leak.Sample) {
		var ps []point
		for n, p := range curve {
			if every := len(curve)/mostPoints + 1; n%every == 0 || n == len(curve)-1 {
				ps = append(ps, at(p.T, p.P))
			}
		}
		d.polyline(i, ps, false)
	}
	trace(inkGhost, m.Curve)
	trace(ink{stroke: colourInside, width: 1.4}, curve)
	if loss := m.Value / 60; !math.IsNaN(loss) {
		d.line(inkDashed, at(t0, mean+loss*(middle-t0)), at(t1, mean-loss*(t1-middle)))
	}
	return d
}

// leakRows are the air tests, beside their curve where its readings were kept.
func leakRows(d Data) []row {
	var rows []row
	for _, m := range d.of(record.FeatureLeakDown) {
		r := row{{Share: 2, Lines: dropEmpty(
			fmt.Sprintf("%s: loses %s; window %s; %s.", upperFirst(stageTitle(m.Stage)), m.Format.plusMinus(m.Value, m.expanded()),
				m.Format.limits(m.Spec.Limits), m.Verdict.String()), upperFirst(m.Results[0].Capture.Note),
		)}}
		if len(m.Curve) > 1 {
			curve, _, restated := leak.Compensated(m.Curve, cmp.Or(d.Sheet.LeakDown.AmbientKPa, leak.StandardAtmosphere))
			r[0].Lines = append(r[0].Lines, given(restated, "Line: with the change of temperature taken out; dotted: as read. ")+"Dashed: the fitted loss.")
			r = append(r, panel{Share: 1, Picture: leakPicture(m, curve)})
		}
		rows = append(rows, r)
	}
	return rows
}
