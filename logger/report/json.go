package report

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

// resultsFormat names the shape of the JSON export. Its JSON Schema is
// testdata/schema/results.schema.json in the source tree.
const resultsFormat = "crownlog-results/1"

// JSON writes d as one object of the format resultsFormat. Every field is
// always there: what is not known is null, what was not measured an empty list.
func JSON(w io.Writer, d Data) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(newResults(d)); err != nil {
		return fmt.Errorf("write results: %w", err)
	}
	return nil
}

// ChangesJSON writes the changes of d as one object, the same as in JSON.
func ChangesJSON(w io.Writer, d Data) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(struct {
		Job      string         `json:"job"`
		Vehicle  string         `json:"vehicle"`
		Invented bool           `json:"invented"`
		Changes  []resultChange `json:"changes"`
	}{d.Sheet.Vehicle.Job, d.Sheet.Vehicle.Label, d.Sheet.Invented, each(d.Changes, newResultChange)}); err != nil {
		return fmt.Errorf("write changes: %w", err)
	}
	return nil
}

// A moment is a time as RFC 3339 in UTC, or null.
type moment time.Time

// MarshalJSON implements json.Marshaler.
func (m moment) MarshalJSON() ([]byte, error) {
	t := time.Time(m)
	if t.IsZero() {
		return []byte("null"), nil
	}
	return []byte(strconv.Quote(t.UTC().Format(time.RFC3339Nano))), nil
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

type results struct {
	Format   string          `json:"format"`
	Made     moment          `json:"made"`
	Invented bool            `json:"invented"`
	Vehicle  resultVehicle   `json:"vehicle"`
	Verdict  string          `json:"verdict"`
	Headline string          `json:"headline"`
	Summary  []resultLine    `json:"summary"`
	Backlash []resultRound   `json:"backlash"`
	Runout   []resultRunout  `json:"runout"`
	Bolts    []resultCircle  `json:"bolts"`
	Moves    []resultMove    `json:"moves"`
	Changes  []resultChange  `json:"changes"`
	Patterns []resultPattern `json:"patterns"`
	LeakDown []resultLeak    `json:"leak_down"`
	Holds    []resultHold    `json:"hold_points"`
	Remarks  []resultRemark  `json:"remarks"`
	Rejected []resultRemark  `json:"rejected"`
	Findings []resultFinding `json:"findings"`
	Gauges   []string        `json:"gauges"`
}

type resultVehicle struct {
	Label    string `json:"label"`
	Job      string `json:"job"`
	Axle     string `json:"axle"`
	Odometer string `json:"odometer"`
	Operator string `json:"operator"`
}

type resultWindow struct {
	Lower Number `json:"lower"`
	Upper Number `json:"upper"`
}

func newWindow(l gum.Limits) resultWindow { return resultWindow{Number(l.Lower), Number(l.Upper)} }

type resultLine struct {
	Feature  string       `json:"feature"`
	Stage    string       `json:"stage"`
	Value    Number       `json:"value"`
	Expanded Number       `json:"expanded_uncertainty"`
	Unit     string       `json:"unit"`
	Text     string       `json:"text"`
	Window   resultWindow `json:"window"`
	Default  bool         `json:"default_window"`
	Verdict  string       `json:"verdict"`
	Reason   string       `json:"reason"`

	Conclusion string `json:"conclusion"`
}

type resultPoint struct {
	Position      int    `json:"position"`
	AngleDeg      Number `json:"angle_deg"`
	Value         Number `json:"value"`
	Expanded      Number `json:"expanded_uncertainty"`
	Rocks         int    `json:"rocks"`
	Repeatability Number `json:"repeatability"`
	Verdict       string `json:"verdict"`
	Quality       string `json:"quality"`
}

type resultHarmonic struct {
	Amplitude Number `json:"amplitude"`
	PhaseDeg  Number `json:"phase_deg"`
}

func newHarmonic(h *analysis.Harmonic) *resultHarmonic {
	if h == nil {
		return nil
	}
	return &resultHarmonic{Number(h.Amplitude), Number(h.PhaseDeg)}
}

type resultRound struct {
	Stage      string          `json:"stage"`
	Unit       string          `json:"unit"`
	N          int             `json:"n"`
	Mean       Number          `json:"mean"`
	StdDev     Number          `json:"std_dev"`
	Spread     Number          `json:"spread"`
	Tightest   int             `json:"tightest_position"`
	Loosest    int             `json:"loosest_position"`
	Outside    []int           `json:"outside"`
	Missing    []int           `json:"missing"`
	H1         *resultHarmonic `json:"h1"`
	H2         *resultHarmonic `json:"h2"`
	ResidualSD Number          `json:"residual_sd"`
	Window     resultWindow    `json:"window"`
	MaxSpread  Number          `json:"max_spread"`
	Floor      Number          `json:"floor"`
	Rule       string          `json:"rule"`
	Verdict    string          `json:"verdict"`
	Reason     string          `json:"reason"`
	Positions  []resultPoint   `json:"positions"`
}

type resultRunout struct {
	Feature       string          `json:"feature"`
	Stage         string          `json:"stage"`
	Unit          string          `json:"unit"`
	FIM           Number          `json:"fim"`
	Expanded      Number          `json:"expanded_uncertainty"`
	H1            *resultHarmonic `json:"h1"`
	H2            *resultHarmonic `json:"h2"`
	ResidualSD    Number          `json:"residual_sd"`
	FIMIfReseated Number          `json:"fim_if_reseated"`
	Window        resultWindow    `json:"window"`
	Verdict       string          `json:"verdict"`
	Points        []resultPlace   `json:"points"`
}

type resultPlace struct {
	AngleDeg Number `json:"angle_deg"`
	Value    Number `json:"value"`
}

type resultCircle struct {
	Feature string       `json:"feature"`
	Stage   string       `json:"stage"`
	Unit    string       `json:"unit"`
	Target  Number       `json:"target"`
	Window  resultWindow `json:"window"`
	Verdict string       `json:"verdict"`
	Bolts   []resultBolt `json:"bolts"`
}

type resultBolt struct {
	Number   int    `json:"number"`
	Torque   Number `json:"torque"`
	Expanded Number `json:"expanded_uncertainty"`
	Pulls    int    `json:"pulls"`
	Verdict  string `json:"verdict"`
	Quality  string `json:"quality"`
}

type resultMove struct {
	Time      moment `json:"time"`
	Stage     string `json:"stage"`
	Amount    Number `json:"amount"`
	Unit      string `json:"unit"`
	Net       Number `json:"net"`
	Before    Number `json:"mean_before"`
	After     Number `json:"mean_after"`
	Expected  Number `json:"mean_expected"`
	ExpectedU Number `json:"expected_uncertainty"`
	Note      string `json:"note"`
}

type resultChange struct {
	From        string                 `json:"from"`
	To          string                 `json:"to"`
	Unit        string                 `json:"unit"`
	Mean        Number                 `json:"mean_change"`
	Expanded    Number                 `json:"expanded_uncertainty"`
	Significant bool                   `json:"significant"`
	Sentence    string                 `json:"sentence"`
	Positions   []resultPositionChange `json:"positions"`
	Unpaired    []int                  `json:"unpaired"`
}

type resultPositionChange struct {
	Position    int    `json:"position"`
	From        Number `json:"from"`
	To          Number `json:"to"`
	Change      Number `json:"change"`
	Expanded    Number `json:"expanded_uncertainty"`
	Significant bool   `json:"significant"`
}

type resultPattern struct {
	Stage  string         `json:"stage"`
	Drive  *resultContact `json:"drive"`
	Coast  *resultContact `json:"coast"`
	Advice string         `json:"advice"`
}

type resultContact struct {
	Along Number `json:"along"`
	Up    Number `json:"up"`
}

type resultLeak struct {
	Stage    string       `json:"stage"`
	Rate     Number       `json:"rate_kpa_per_min"`
	Expanded Number       `json:"expanded_uncertainty"`
	Window   resultWindow `json:"window"`
	Verdict  string       `json:"verdict"`
	Note     string       `json:"note"`
}

type resultHold struct {
	Name       string `json:"name"`
	Before     string `json:"before"`
	Reason     string `json:"reason"`
	Blocking   bool   `json:"blocking"`
	Overridden string `json:"overridden"`
}

type resultRemark struct {
	Time  moment `json:"time"`
	Stage string `json:"stage"`
	Kind  string `json:"kind"`
	Text  string `json:"text"`
}

type resultFinding struct {
	Severity string `json:"severity"`
	Where    string `json:"where"`
	Text     string `json:"text"`
}
