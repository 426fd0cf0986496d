package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// resultsFormat names the shape of the JSON export. Its JSON Schema is
// testdata/schema/results.schema.json in the source tree.
const resultsFormat = "crownlog-results/1"

// JSON writes d as one object of the format resultsFormat. Every field is
// always there: what is not known is null, what was not measured an empty list.
func JSON(w io.Writer, d Data) error {
	enc := newEncoder(w)
	enc.SetIndent("", "  ")
	if err := enc.Encode(results(d)); err != nil {
		return fmt.Errorf("write results: %w", err)
	}
	return nil
}

// ChangesJSON writes the changes of d as one object, the same as in JSON.
func ChangesJSON(w io.Writer, d Data) error {
	v := d.Sheet.Vehicle
	changes := each(d.Changes, changeObject)
	err := newEncoder(w).Encode(Object{{"job", v.Job}, {"vehicle", v.Label}, {"invented", d.Sheet.Invented},
		{"same_hand", d.Same.Hand}, {"left_standing", d.Same.Mounting}, {"changes", changes}})
	if err != nil {
		return fmt.Errorf("write changes: %w", err)
	}
	return nil
}

func newEncoder(w io.Writer) *json.Encoder {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc
}

// An Object is a JSON object with its members in order. A number or a time that
// is not known is null; a time is RFC 3339 in UTC.
type Object []struct {
	Name  string
	Value any
}

// MarshalJSON implements json.Marshaler.
func (o Object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	enc := newEncoder(&b)
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(strconv.Quote(m.Name) + ":")
		switch v := m.Value.(type) {
		case float64:
			m.Value = Number(v)
		case gum.Verdict:
			m.Value = v.String()
		case gum.Limits:
			m.Value = Object{{"lower", v.Lower}, {"upper", v.Upper}}
		case time.Time:
			m.Value = nil
			if !v.IsZero() {
				m.Value = v.UTC().Format(time.RFC3339Nano)
			}
		}
		if err := enc.Encode(m.Value); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// A Number is a float64 that JSON shows with nine significant digits, or as
// null where there is none (NaN or infinite).
type Number float64

// MarshalJSON implements json.Marshaler.
func (n Number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	v, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 9, 64), 64)
	if err != nil {
		return nil, err
	}
	format := byte('f')
	if a := math.Abs(v); a < 1e-6 || a >= 1e15 {
		format = 'g'
	}
	return strconv.AppendFloat(nil, v, format, -1, 64), nil
}

// each makes a list that is never null.
func each[A, B any](list []A, f func(A) B) []B {
	out := make([]B, 0, len(list))
	for _, a := range list {
		out = append(out, f(a))
	}
	return out
}

func same[T any](v T) T { return v }

func results(d Data) Object {
	v := d.Sheet.Vehicle
	return Object{
		{"format", resultsFormat}, {"made", d.Made}, {"record", d.Record}, {"invented", d.Sheet.Invented},
		{"vehicle", Object{{"label", v.Label}, {"job", v.Job}, {"axle", v.Axle}, {"odometer", v.Odometer}, {"operator", v.Operator},
			{"checked_by", v.CheckedBy}, {"vin", v.VIN}, {"centre_serial", v.CentreSerial}}},
		{"verdict", d.Verdict}, {"headline", d.Headline},
		{"summary", each(d.Judged, lineObject)},
		{"backlash", each(d.Backlash, roundObject)},
		{"runout", each(d.Runouts, runoutObject)},
		{"bolts", each(d.Bolts, boltsObject)},
		{"moves", each(d.Moves, moveObject)},
		{"changes", each(d.Changes, changeObject)},
		{"patterns", each(d.Patterns, patternObject)},
		{"leak_down", each(d.LeakDowns, leakObject)},
		{"hold_points", each(d.Holds, func(h job.HoldPoint) Object {
			return Object{{"name", h.Name}, {"before", h.Before}, {"reason", h.Reason}, {"blocking", h.Blocking}, {"skipped", h.Skipped}}
		})},
		{"not_measured", each(d.Lacking, func(s job.Step) Object {
			return Object{{"stage", s.Stage}, {"feature", s.Feature}, {"measured", s.Measured}, {"needed", s.Needed}}
		})},
		{"repeated", Repeated(d)},
		{"remarks", each(d.Remarks, remarkObject)},
		{"rejected", each(d.Rejected, remarkObject)},
		{"findings", each(d.Findings, func(f sheet.Finding) Object {
			return Object{{"severity", f.Severity}, {"where", f.Where}, {"text", f.Text}}
		})},
		{"gauges", each(d.Gauges, same)},
		{"tools", each(d.Sheet.Tools, func(t sheet.Tool) Object {
			return Object{{"name", t.Name}, {"serial", t.Serial}, {"certificate", t.Certificate}, {"due", t.Due}}
		})},
	}
}

// Repeated is what failed and was repeated.
func Repeated(d Data) []Object {
	return each(d.Repeats, func(r job.Repeat) Object {
		return Object{{"time", r.Time}, {"stage", r.Stage}, {"feature", r.Feature}, {"position", r.Position}, {"text", r.Text}}
	})
}

func lineObject(j Judged) Object {
	return Object{
		{"feature", j.Feature}, {"stage", j.Stage}, {"value", j.Value}, {"expanded_uncertainty", j.expanded()}, {"unit", j.Format.Unit},
		{"text", j.Text}, {"window", j.Spec.Limits}, {"default_window", j.Default}, {"verdict", j.Verdict}, {"reason", j.Reason},
		{"conclusion", j.Conclusion},
	}
}

func harmonicObject(h *analysis.Harmonic) any {
	if h == nil {
		return nil
	}
	return Object{{"amplitude", h.Amplitude}, {"phase_deg", h.PhaseDeg}}
}

func roundObject(m Round) Object {
	r, h2 := m.Round, &m.Round.H2
	if !r.H2Known {
		h2 = nil
	}
	return Object{
		{"stage", m.Stage}, {"unit", m.Format.Unit}, {"n", r.N}, {"mean", r.Mean}, {"std_dev", r.StdDev}, {"spread", r.Spread},
		{"tightest_position", r.Tightest.Position}, {"loosest_position", r.Loosest.Position},
		{"outside", each(r.Outside, same)}, {"missing", each(r.Missing, same)},
		{"h1", harmonicObject(&r.H1)}, {"h2", harmonicObject(h2)}, {"residual_sd", r.ResidualSD},
		{"window", m.Spec.Limits}, {"max_spread", m.Spec.MaxSpread}, {"floor", m.Spec.Floor}, {"rule", m.Spec.Rule},
		{"verdict", m.Verdict}, {"reason", m.Reason()},
		{"positions", each(m.Results, func(p feature.Result) Object {
			c := p.Capture
			return Object{
				{"position", c.Position}, {"angle_deg", c.AngleDeg}, {"value", c.Value}, {"expanded_uncertainty", gum.Coverage * c.U},
				{"rocks", c.N}, {"repeatability", c.Repeatability}, {"verdict", p.Verdict}, {"quality", c.Quality},
			}
		})},
	}
}

func runoutObject(r Runout) Object {
	return Object{
		{"feature", r.Feature}, {"stage", r.Stage}, {"unit", r.Format.Unit}, {"fim", r.Runout.FIM},
		{"expanded_uncertainty", gum.Coverage * r.Runout.FIMU}, {"h1", harmonicObject(r.Runout.H1)}, {"h2", harmonicObject(r.Runout.H2)},
		{"residual_sd", r.Runout.ResidualSD}, {"fim_if_reseated", r.Runout.FIMIfReseated}, {"window", r.Spec.Limits}, {"verdict", r.Verdict},
		{"points", each(r.Points, func(c record.Capture) Object { return Object{{"angle_deg", c.AngleDeg}, {"value", c.Value}} })},
	}
}

func boltsObject(c BoltCircle) Object {
	return Object{
		{"feature", c.Feature}, {"stage", c.Stage}, {"unit", c.Format.Unit}, {"target", c.List.TargetNm()}, {"window", c.Spec.Limits},
		{"verdict", c.Verdict},
		{"bolts", each(c.Bolts, func(b Bolt) Object {
			return Object{
				{"number", b.Number}, {"torque", b.torque()}, {"expanded_uncertainty", gum.Coverage * b.Capture.U}, {"pulls", b.Pulls},
				{"verdict", b.Verdict}, {"quality", b.Capture.Quality},
			}
		})},
	}
}

func moveObject(m Move) Object {
	return Object{
		{"time", m.Time}, {"stage", m.Stage}, {"amount", m.Value}, {"unit", m.Unit}, {"net", m.Net}, {"mean_before", m.Before},
		{"mean_after", m.After}, {"mean_expected", m.Expected}, {"expected_uncertainty", m.ExpectedU}, {"note", m.NoteText()},
	}
}

func changeObject(c StageChange) Object {
	return Object{
		{"from", c.From}, {"to", c.To}, {"unit", c.Format.Unit}, {"mean_change", c.Change.Mean}, {"expanded_uncertainty", c.U},
		{"significant", c.Change.Significant}, {"sentence", c.Sentence},
		{"positions", each(c.Change.Positions, func(p analysis.PositionChange) Object {
			return Object{
				{"position", p.Position}, {"from", p.From}, {"to", p.To}, {"change", p.Change},
				{"expanded_uncertainty", gum.Coverage * p.U}, {"significant", p.Significant},
			}
		})},
		{"unpaired", each(c.Change.Unpaired, same)},
	}
}

func patternObject(p Pattern) Object {
	contact := func(c *setup.Contact) any {
		if c == nil {
			return nil
		}
		return Object{{"along", c.Along}, {"up", c.Up}}
	}
	return Object{{"stage", p.Stage}, {"drive", contact(p.Drive)}, {"coast", contact(p.Coast)}, {"advice", words.Contact(p.Advice)}}
}

func leakObject(l LeakDown) Object {
	return Object{
		{"stage", l.Stage}, {"rate_kpa_per_min", l.Value}, {"expanded_uncertainty", l.expanded()}, {"window", l.Spec.Limits},
		{"verdict", l.Verdict}, {"note", l.Results[0].Capture.Note},
	}
}

func remarkObject(r Remark) Object {
	return Object{{"time", r.Time}, {"stage", r.Stage}, {"kind", r.Kind}, {"text", r.Text}}
}
