package report

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"rsc.io/qr"

	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// gaugeSection states what the figures and their verdicts rest on.
func gaugeSection(d Data) section {
	lines := append(windowLines(d.Sheet),
		"Verdicts by ISO 14253-1: inside where the window less the uncertainty holds the reading, outside beyond the window plus the uncertainty, else too close to call.",
		uncertaintyWords(d.Sheet),
		gaugeWords(d), given(len(d.backlash()) > 0, plungerWords(d.Sheet)),
	)
	for _, t := range d.Sheet.Tools {
		due, err := time.Parse(time.DateOnly, t.Due)
		lines = append(lines, strings.Join(dropEmpty(upperFirst(t.Name), given(t.Serial != "", "serial "+t.Serial), given(t.Certificate != "", "certificate "+t.Certificate),
			given(t.Due != "", "to be calibrated again "+t.Due), given(err == nil && d.Last.After(due.AddDate(0, 0, 1)), "OVERDUE when this job was last measured")), ", ")+".")
	}
	for _, f := range d.Findings {
		if f.Severity != sheet.Advice {
			lines = append(lines, strings.TrimSuffix(upperFirst(string(f.Severity))+", "+f.Where+": "+f.Text, ".")+".")
		}
	}
	return section{Title: "Windows, gauges and uncertainty", Rows: columns(2, dropEmpty(lines...))}
}

// uncertaintyWords names what went into the uncertainties, and no more.
func uncertaintyWords(s sheet.Sheet) string {
	g, p := s.Gauge, s.Plunger
	const repeated, resolution, permissible = "the repeatability of the readings", "the gauge's resolution", "its permissible error"
	in := dropEmpty(repeated, given(g.ResolutionMM > 0, resolution), given(g.MPEMM > 0, permissible),
		given(p.CosineDeg != 0 || p.ContactRadius > 0 && p.HeelRadius > 0, "the plunger's alignment"))
	out := dropEmpty(given(g.ResolutionMM == 0, resolution), given(g.MPEMM == 0, permissible))
	return "±, U: expanded uncertainty, about 95 %, by the GUM (JCGM 100), from " + words.List(in) + ". A dash: not known, and then nothing is proven." +
		given(len(out) > 0, " Not entered, and so not in it: "+words.List(out)+"; the true uncertainty is larger.")
}

func gaugeWords(d Data) string {
	g := d.Sheet.Gauge
	parts := dropEmpty(g.Label,
		given(g.ResolutionMM > 0, "resolution "+units.Exact(g.ResolutionMM)+" mm"),
		given(g.MPEMM > 0, "permissible error ±"+units.Exact(g.MPEMM)+" mm"),
		given(g.Calibrated != "", "calibrated "+g.Calibrated))
	return strings.Join(dropEmpty(
		given(len(parts) > 0, "Indicator: "+strings.Join(parts, ", ")+"."),
		given(len(d.Gauges) > 0, "Gauges behind the readings: "+strings.Join(d.Gauges, ", ")+".")), " ")
}

func plungerWords(s sheet.Sheet) string {
	p := s.Plunger
	way := map[string]string{setup.Normal: "normal to the tooth", setup.Transverse: "transverse, in the plane of rotation"}
	return "Backlash was measured " + cmp.Or(way[p.Measured], "in a way that is not recorded") + given(p.Spec != "", "; the manual's window is taken as "+p.Spec) +
		given(p.ContactRadius > 0, "; contact radius "+units.Exact(p.ContactRadius)+" mm") + "."
}

// cautionSection is the same on every report.
func cautionSection() section {
	return section{Title: "Cautions", Rows: columns(3, []string{
		"The maker's manual, local codes and a licensed trade come before anything on this sheet. Driveline changes may need engineering approval and the insurer's consent.",
		"Support: level floor, rated stands, chocks, never a jack alone. The centre slides out when the caps come off.",
		"Turning parts: nobody at the ignition; fingers and indicator arm clear of the teeth.",
		"Press: guard in place, load the inner ring only, never draw a wheel down with its bolts.",
		"Heat: gloves, no flame, hot water or oven within the maker's limit; dry before fitting.",
		"Compressed air: eye guard, reduced pressure for blowing off, vent before undoing.",
		"Chemicals: locker, sealant and cleaner harm skin and lungs; gloves and fresh air.",
		"Road: a locked differential takes the steering away on hard ground. Re-check leaks, noise and backlash after running in.",
	})}
}

// digestSection is what the signatures stand below: the verdict in words, and the
// digest of the record for eyes and as a QR code.
func digestSection(d Data) section {
	r := d.Record
	code, err := qr.Encode(r.Text(), qr.M)
	if r.Job == "" || err != nil {
		return section{}
	}
	const side = 110
	picture := &drawing{width: side, height: side, title: "QR code of the digest", desc: "It holds the text of captures.digest."}
	picture.marks = []mark{{photo: code.PNG(), kind: "png"}}
	return section{Title: "What is signed", Rows: []row{{{Share: 1, Picture: picture}, {Share: 5, Lines: []string{
		strings.Join(dropEmpty(d.Sheet.Vehicle.Label, d.Sheet.Vehicle.Job), ", ") + ": " + d.Headline + ".",
		fmt.Sprintf("Record %s, %d lines; report by %s.", r.Job, r.Lines, r.Program),
		"First line " + r.First, "Last line " + r.Last,
		"The code holds the same as captures.digest: with it crownlog verify JOB --digest FILE shows whether anything up to there was changed.",
	}}}}}
}
