package report

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"strconv"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// resultsFormat names the shape of the JSON export. Its JSON Schema is
// testdata/schema/results.schema.json in the source tree.
const resultsFormat = "crownlog-results/1"

// JSON writes d as one object of the format resultsFormat. Every field is
// always there: what is not known is null, what was not measured an empty list.
func JSON(w io.Writer, d Data) error { return Encode(w, "  ", results(d)) }

// ChangesJSON writes the changes of d as one object, the same as in JSON.
func ChangesJSON(w io.Writer, d Data) error {
	v := d.Sheet.Vehicle
	return Encode(w, "", Object{{"job", v.Job}, {"vehicle", v.Label}, {"invented", d.Sheet.Invented},
		{"same_hand", d.Same.Hand}, {"left_standing", d.Same.Mounting}, {"changes", Each(d.Changes, changeObject)}})
}

// Encode writes v as JSON, its members each on a line behind indent, or all on one where
// that is "".
func Encode(w io.Writer, indent string, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", indent)
	return enc.Encode(v)
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
		if err := Encode(&b, "", m.Value); err != nil {
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
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 9, 64), 64) // it was one
	return strconv.AppendFloat(nil, v, 'f', -1, 64), nil
}

func same[T any](v T) T { return v }

func results(d Data) Object {
	v := d.Sheet.Vehicle
	return Object{
		{"format", resultsFormat}, {"made", d.Made}, {"record", d.Record}, {"invented", d.Sheet.Invented},
		{"vehicle", Object{{"label", v.Label}, {"job", v.Job}, {"axle", v.Axle}, {"odometer", v.Odometer}, {"operator", v.Operator},
			{"checked_by", v.CheckedBy}, {"vin", v.VIN}, {"centre_serial", v.CentreSerial}}},
		{"verdict", d.Verdict}, {"headline", d.Headline},
		{"summary", Each(d.Judged, lineObject)},
		{"backlash", Each(d.backlash(), roundObject)},
		{"runout", Each(d.of(runouts...), runoutObject)},
		{"bolts", Each(d.of(boltLists...), d.boltsObject)},
		{"moves", Each(d.Moves, d.moveObject)},
		{"changes", Each(d.Changes, changeObject)},
		{"patterns", Each(d.Patterns, patternObject)},
		{"leak_down", Each(d.of(record.FeatureLeakDown), leakObject)},
		{"hold_points", Each(d.Holds, same)},
		{"not_measured", Each(d.Lacking, func(s job.Step) Object {
			return Object{{"stage", s.Stage}, {"feature", s.Feature}, {"measured", s.Measured}, {"needed", s.Needed}}
		})},
		{"repeated", Repeated(d)},
		{"remarks", Each(d.Remarks, same)}, {"rejected", Each(d.Rejected, same)},
		{"findings", Each(d.Findings, same)}, {"gauges", Each(d.Gauges, same)}, {"tools", Each(d.Sheet.Tools, same)},
	}
}

// Repeated is what failed and was repeated.
func Repeated(d Data) []Object {
	return Each(d.Repeats, func(r job.Repeat) Object {
		return Object{{"time", r.Time}, {"stage", r.Stage}, {"feature", r.Feature}, {"position", r.Position}, {"text", r.Text}}
	})
}

// carried writes a figure to what an expanded uncertainty beside it carries; where
// that is not known to one decimal more than the gauge shows.
func (f Format) carried(expanded float64) func(v float64) float64 {
	return func(v float64) float64 { return gum.Carried(v, expanded, f.Decimals+1) }
}

func lineObject(j Judged) Object {
	return Object{
		{"feature", j.Feature}, {"stage", j.Stage}, {"value", j.Format.carried(j.expanded())(j.Value)}, {"expanded_uncertainty", gum.RoundedU(j.expanded())},
		{"unit", j.Format.Unit}, {"text", j.Text}, {"window", j.Spec.Limits}, {"default_window", j.Default}, {"verdict", j.Verdict},
		{"reason", j.Reason}, {"conclusion", j.Conclusion},
	}
}

// HarmonicObject is null where there is none; to rounds its amplitude.
func HarmonicObject(h *analysis.Harmonic, to func(float64) float64) any {
	if h == nil {
		return nil
	}
	return Object{{"amplitude", to(h.Amplitude)}, {"phase_deg", units.RoundTo(h.PhaseDeg, 0.1)}}
}

func roundObject(m Measured) Object {
	r, to := m.Round, m.Format.carried(gum.Coverage*m.Round.SpreadU)
	_, h2 := m.harmonics()
	return Object{
		{"stage", m.Stage}, {"unit", m.Format.Unit}, {"n", r.N}, {"mean", m.Format.carried(m.expanded())(r.Mean)}, {"std_dev", to(r.StdDev)},
		{"spread", to(r.Spread)}, {"tightest_position", r.Tightest.Position}, {"loosest_position", r.Loosest.Position},
		{"outside", Each(r.Outside, same)}, {"missing", Each(r.Missing, same)},
		{"h1", HarmonicObject(&r.H1, to)}, {"h2", HarmonicObject(h2, to)}, {"residual_sd", to(r.ResidualSD)},
		{"window", m.Spec.Limits}, {"max_spread", m.Spec.MaxSpread}, {"floor", m.Spec.Floor}, {"rule", m.Spec.Rule},
		{"verdict", m.Verdict}, {"reason", m.Reason()},
		{"positions", Each(m.Results, func(p feature.Result) Object {
			c := p.Capture
			return Object{
				{"position", c.Position}, {"angle_deg", c.AngleDeg}, {"value", m.Format.carried(gum.Coverage * c.U)(c.Value)},
				{"expanded_uncertainty", gum.RoundedU(gum.Coverage * c.U)}, {"rocks", c.N}, {"repeatability", gum.RoundedU(c.Repeatability)},
				{"verdict", p.Verdict}, {"quality", c.Quality},
			}
		})},
	}
}

func runoutObject(m Measured) Object {
	r, to := m.Runout, m.Format.carried(gum.Coverage*m.Runout.FIMU)
	return Object{
		{"feature", m.Feature}, {"stage", m.Stage}, {"unit", m.Format.Unit}, {"fim", to(r.FIM)},
		{"expanded_uncertainty", gum.RoundedU(gum.Coverage * r.FIMU)}, {"h1", HarmonicObject(r.H1, to)}, {"h2", HarmonicObject(r.H2, to)},
		{"residual_sd", to(r.ResidualSD)}, {"fim_if_reseated", to(r.FIMIfReseated)}, {"window", m.Spec.Limits}, {"verdict", m.Verdict},
		{"points", Each(m.places(), func(p feature.Result) Object {
			return Object{{"angle_deg", p.Capture.AngleDeg}, {"value", m.Format.carried(gum.Coverage * p.Capture.U)(p.Capture.Value)}}
		})},
	}
}

func (d Data) boltsObject(m Measured) Object {
	list, _ := d.Sheet.BoltList(m.Feature)
	pulls := make(map[int]int)
	for _, c := range record.Valid(d.captures, m.Stage, m.Feature) {
		pulls[c.Position]++
	}
	return Object{
		{"feature", m.Feature}, {"stage", m.Stage}, {"unit", m.Format.Unit}, {"target", list.TargetNm()}, {"window", m.Spec.Limits},
		{"verdict", m.Verdict},
		{"bolts", Each(d.bolts(m), func(b feature.Result) Object {
			c, u := b.Capture, gum.Coverage*b.Capture.U
			return Object{
				{"number", c.Position}, {"torque", m.Format.carried(u)(c.Value)}, {"expanded_uncertainty", gum.RoundedU(u)},
				{"pulls", pulls[c.Position]}, {"verdict", b.Verdict}, {"quality", c.Quality},
			}
		})},
	}
}

func (d Data) moveObject(m Move) Object {
	means := millimetres(d.Sheet)
	to := means.carried(math.NaN())
	return Object{
		{"time", m.Time}, {"stage", m.Stage}, {"amount", m.Value}, {"unit", m.Unit}, {"net", m.Net}, {"mean_before", to(m.Before)},
		{"mean_after", to(m.After)}, {"mean_expected", means.carried(m.ExpectedU)(m.Expected)}, {"expected_uncertainty", gum.RoundedU(m.ExpectedU)},
		{"note", m.NoteText()},
	}
}

func changeObject(c StageChange) Object {
	return Object{
		{"from", c.From}, {"to", c.To}, {"unit", c.Format.Unit}, {"mean_change", c.Format.carried(c.U)(c.Change.Mean)},
		{"expanded_uncertainty", gum.RoundedU(c.U)}, {"significant", c.Change.Significant}, {"sentence", c.Sentence},
		{"positions", Each(c.Change.Positions, func(p analysis.PositionChange) Object {
			u := gum.Coverage * p.U
			to := c.Format.carried(u)
			return Object{
				{"position", p.Position}, {"from", to(p.From)}, {"to", to(p.To)}, {"change", to(p.Change)},
				{"expanded_uncertainty", gum.RoundedU(u)}, {"significant", p.Significant},
			}
		})},
		{"unpaired", Each(c.Change.Unpaired, same)},
	}
}

func patternObject(p Pattern) Object {
	contact := func(c *setup.Contact) any {
		if c == nil {
			return nil
		}
		return Object{{"along", c.Along}, {"up", c.Up}}
	}
	return Object{{"stage", p.Stage}, {"drive", contact(p.Flanks[0])}, {"coast", contact(p.Flanks[1])}, {"advice", words.Contact(p.Advice)}}
}

func leakObject(m Measured) Object {
	return Object{
		{"stage", m.Stage}, {"rate_kpa_per_min", m.Format.carried(m.expanded())(m.Value)}, {"expanded_uncertainty", gum.RoundedU(m.expanded())},
		{"window", m.Spec.Limits}, {"verdict", m.Verdict}, {"note", m.Results[0].Capture.Note},
	}
}
