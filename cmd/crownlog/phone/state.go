package phone

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger"
	"crownlog/logger/record"
)

// A state is what the page shows, in words and figures that it only lays out.
type state struct {
	Mark     string   `json:"mark"` // see mark
	Job      string   `json:"job"`
	Step     string   `json:"step"` // "caps-torqued · bearing cap bolts"
	Place    string   `json:"place"`
	Name     string   `json:"name"` // of the big number
	Big      string   `json:"big"`
	Unit     string   `json:"unit"`
	Doubt    string   `json:"doubt"` // about the reading
	State    string   `json:"state"`
	Progress string   `json:"progress"`
	Rocks    [2]int   `json:"rocks"` // counted and wanted; of what has no rocks one is wanted
	Action   string   `json:"action"`
	Alert    string   `json:"alert"`
	Caution  string   `json:"caution"`
	Verdict  string   `json:"verdict"` // of the round so far, "" for none
	Facts    []string `json:"facts"`
	Ring     []spot   `json:"ring"`
	Stored   int      `json:"stored"`
	Typed    string   `json:"typed"` // what may be typed: "mm", "a value", "a reason" to pass a hold point; "": nothing

	// What the page makes its buttons and its voice from.
	Phase  logger.State `json:"phase"`
	Kind   string       `json:"kind"` // "bolts" that are clicked, "lock", "check", "pattern"; "": another round
	Bell   int          `json:"bell"`
	Alarm  int          `json:"alarm"`
	Tick   string       `json:"tick"`   // the entry of a list that may be ticked, "" for none
	What   string       `json:"what"`   // its words
	Onward bool         `json:"onward"` // the job goes on after this round
	Move   float64      `json:"move"`   // of the adjusters as advised; 0: none

	Control string `json:"control"`
}

// A spot is a mark on the ring.
type spot struct {
	Name    string  `json:"name"`
	Label   string  `json:"label"`
	Deg     float64 `json:"deg"`
	Value   string  `json:"value"` // "": not measured
	Verdict string  `json:"verdict"`
	Current bool    `json:"current"`
}

// thumbs turns what a sentence says of keys into the buttons of the page.
var thumbs = strings.NewReplacer(
	"press space", "press Store", "press x", "press Again", "and press enter", "and press Clicked", "Press x", "Press Again", "; x measures", "; Again measures",
	"then capture", "then press Store", "rocks: capture", "rocks: press Store", "n to go on", "Next to go on", "a reason (o)", "a reason, typed below", "Tick it off (v)", "Tick it off below",
	"Press y, with the seconds it took if you have them, or l or f; then enter.", "Press how it went, or type the seconds it took to lock.",
	"Type yes.", "Press It is so.", "Type yes, or the seconds it took to lock; else no lock or no free.", "Press how it went, or type the seconds it took to lock.",
)

// state is what a page shows of the newest view.
func (s *Server) state(page string) state {
	st := newState(s.cfg.Hub.Latest())
	if s.cfg.Tick == nil {
		st.Tick = ""
	}
	st.Onward, st.Control = s.cfg.Next != nil, s.desk.control(page)
	return st
}

// newState lays out a view.
func newState(v logger.View) state {
	v = v.OnScreen()
	v.Action, v.Alert = thumbs.Replace(v.Action), thumbs.Replace(v.Alert)
	s := state{
		Mark: mark(v), Job: map[bool]string{true: "INVENTED DATA · "}[v.Invented] + v.Vehicle, Step: v.Stage + " · " + record.Title(v.Feature), Name: "reading",
		Big: units.Fixed(v.Reading, v.Decimals), Unit: v.Unit, Doubt: v.Doubts(), State: string(v.State),
		Action: v.Action, Alert: v.Alert, Stored: v.Stored, Ring: ringOf(v),
		Phase: v.State, Kind: kinds[v.Feature], Bell: v.Bell, Alarm: v.Alarm, Move: advised(v.Move),
		Verdict: string(v.Verdict), Rocks: [2]int{v.Rocks, v.Wanted}, Facts: []string{},
	}
	if v.Keyed || v.State == logger.StateCaptured && !math.IsNaN(v.Estimate) {
		s.Name, s.Big = record.Title(v.Feature), units.Fixed(v.Estimate, v.Decimals)
	}
	if v.State == logger.StateDone { // what the round came to; the gauge goes on talking
		s.Name, s.Big, s.Doubt = record.Title(v.Feature), units.Fixed(v.Value, max(v.Decimals, min(v.Decimals+1, 3))), ""
		s.Unit, s.State = v.ResultUnit(), cmp.Or(string(v.Verdict), s.State)
	}
	if s.Kind == "bolts" && !v.Keyed {
		s.Kind = ""
	}
	if v.Leg != "" {
		s.State = v.TimeLeft()
	}
	if s.Big == "–" && s.Name != "reading" {
		s.Big = "" // nothing yet, or several
	}
	if v.Alert != "" && v.State != logger.StateLost && v.State != logger.StateHeld {
		s.State = "look"
	}
	if p, ok := current(v); ok {
		if len(v.Positions) > 1 {
			s.Place = fmt.Sprintf("%d of %d · %s", p.Index, len(v.Positions), p.Label)
		}
		s.Caution = v.Caution
	}
	if !math.IsNaN(v.Estimate) {
		s.Progress = v.SoFar()
	}
	for _, fact := range []string{v.WindowText(), cmp.Or(v.Deciding(), v.Reason), v.Decides(), v.Conclusion} {
		if fact != "" && fact != v.Action {
			s.Facts = append(s.Facts, fact)
		}
	}
	switch {
	case v.State == logger.StateHeld:
		s.Typed, s.Tick, s.What = "a reason", v.Tick.Name, v.Tick.What
	case v.State != logger.StateDone && !record.IsPattern(v.Feature):
		s.Typed = cmp.Or(v.Typed, "a value")
	}
	return s
}

// current is the position at hand; false once the round is done.
func current(v logger.View) (logger.PositionView, bool) {
	if v.Current < 0 || v.Current >= len(v.Positions) {
		return logger.PositionView{}, false
	}
	return v.Positions[v.Current], true
}

// ringOf are the marks round the wheel.
func ringOf(v logger.View) []spot {
	ring, angles := make([]spot, len(v.Positions)), logger.RingAngles(v.Positions)
	for i, p := range v.Positions {
		ring[i] = spot{Name: strconv.Itoa(p.Index), Label: p.Label, Deg: angles[i], Value: p.Word, Verdict: string(p.Verdict), Current: p.Current}
		if !math.IsNaN(p.Value) {
			ring[i].Value = units.Fixed(p.Value, v.Decimals)
		}
	}
	return ring
}

// kinds are the features that the page has buttons of its own for, of bolts where
// they are typed.
var kinds = map[string]string{
	record.FeatureEngagement: "lock", record.FeatureCloseUp: "check",
	record.FeaturePatternDrive: "pattern", record.FeaturePatternCoast: "pattern",
	record.FeatureWheelBolts: "bolts", record.FeatureCapBolts: "bolts",
}

// advised is a move as it is recorded, in notches or mm of shim; 0 for none.
func advised(a *setup.Advice) float64 {
	if a == nil || !a.Needed {
		return 0
	}
	return math.Round(a.Steps*100) / 100
}
