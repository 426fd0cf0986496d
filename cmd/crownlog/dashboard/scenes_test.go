package dashboard

import (
	"fmt"
	"math"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// The scenes are invented moments of an invented job.

var sceneTime = time.Date(2000, 1, 1, 9, 30, 0, 0, time.UTC)

func base(name string) logger.View {
	return logger.View{
		At:         sceneTime,
		Vehicle:    "Fleet 12 rear axle",
		Invented:   true,
		Assessment: feature.Assessment{Stage: record.StageSetUp, Feature: name},
		Unit:       "mm",
		Decimals:   3,
		State:      logger.StateMeasuring,
		Reading:    math.NaN(),
		Progress:   feature.Progress{Estimate: math.NaN(), EstimateU: math.NaN()},
		Window:     gum.Limits{Lower: 0.13, Upper: 0.18, Unit: "mm"},
		Current:    0,
	}
}

// around gives n positions an angle each and the values measured so far.
func around(v *logger.View, n, current int, values ...float64) {
	for i := range n {
		p := logger.PositionView{
			Position: record.Position{Index: i + 1, AngleDeg: float64(i) * 360 / float64(n), Label: fmt.Sprintf("%d°", i*360/n)},
			Value:    math.NaN(),
			U:        math.NaN(),
			Current:  i == current,
		}
		if i < len(values) && !math.IsNaN(values[i]) {
			p.Value, p.U = values[i], 0.0015
			p.Verdict = judge(values[i], v.Window)
		}
		v.Positions = append(v.Positions, p)
	}
	v.Current = current
	v.Round = roundOf(v.Positions)
	v.Stored = v.Round.N
	v.Bell = v.Round.N
}

func judge(x float64, w gum.Limits) gum.Verdict {
	const u = 0.003
	switch {
	case x > w.Lower+u && x < w.Upper-u:
		return gum.Inside
	case x < w.Lower-u || x > w.Upper+u:
		return gum.Outside
	}
	return gum.TooClose
}

func roundOf(ps []logger.PositionView) analysis.Round {
	r := analysis.Round{Mean: math.NaN(), Spread: math.NaN()}
	sum := 0.0
	for _, p := range ps {
		if math.IsNaN(p.Value) {
			continue
		}
		q := analysis.RoundPoint{Position: p.Index, AngleDeg: p.AngleDeg, Value: p.Value, U: p.U}
		if r.N == 0 || q.Value < r.Tightest.Value {
			r.Tightest = q
		}
		if r.N == 0 || q.Value > r.Loosest.Value {
			r.Loosest = q
		}
		sum += p.Value
		r.N++
	}
	if r.N > 0 {
		r.Mean, r.Spread = sum/float64(r.N), r.Loosest.Value-r.Tightest.Value
	}
	return r
}

// rocking is a trace of ten seconds between a low and a high stop, 20 readings
// a second, as it stands at seconds s.
func rocking(s, low, high float64) (trace []analysis.Sample, stops []feature.Stop) {
	const period = 2.4
	for i := -200; i <= 0; i++ {
		t := float64(i) / 20
		trace = append(trace, analysis.Sample{T: t, X: rockAt(s+t, low, high)})
	}
	for k := math.Floor((s - 10) / period); k*period < s; k++ {
		at := k*period - s
		for _, st := range []feature.Stop{
			{From: at + 0.3, To: at + 1.1, Level: low},
			{From: at + 1.5, To: at + 2.3, Level: high, High: true},
		} {
			if st.From >= -10 && st.To <= 0 {
				stops = append(stops, st)
			}
		}
	}
	return trace, stops
}

// rockAt is the reading at second t: a rest on each stop and the way between.
func rockAt(t, low, high float64) float64 {
	const period = 2.4
	p := math.Mod(math.Mod(t, period)+period, period)
	wobble := 0.0012 * math.Sin(37*t)
	switch {
	case p < 0.3:
		return high + (low-high)*p/0.3 + wobble
	case p < 1.2:
		return low + wobble
	case p < 1.5:
		return low + (high-low)*(p-1.2)/0.3 + wobble
	}
	return high + wobble
}

func measuringScene() logger.View {
	v := base(record.FeatureBacklash)
	around(&v, 8, 3, 0.152, 0.161, 0.168)
	v.Trace, v.Stops = rocking(7.9, -0.012, 0.157)
	v.Reading = v.Trace[len(v.Trace)-1].X
	v.Rocks, v.Wanted = 3, 5
	v.Estimate, v.EstimateU = 0.169, 0.0016
	v.Verdict = gum.Inside
	v.Act, v.Action = "rock 2 more", "Rock it twice more."
	v.Caution = "Axle on rated stands, wheels off or free, nobody at the ignition; crown wheel teeth can take a finger."
	return v
}

func capturedScene() logger.View {
	v := measuringScene()
	v.Positions = nil
	around(&v, 8, 3, 0.152, 0.161, 0.168, 0.169)
	v.State, v.Rocks = logger.StateCaptured, 5
	v.Act, v.Action = "lift", "Stored. Lift the plunger, free the pinion and turn to position 5, 180 degrees."
	v.Caution = ""
	return v
}

func faultScene() logger.View {
	v := measuringScene()
	v.Fault, v.Alarm = analysis.PinionSlip, 1
	v.Alert = "The pinion is turning: clamp it again, then rock five times more."
	v.Garbled = 3
	return v
}

func waitingScene() logger.View {
	v := base(record.FeatureBacklash)
	around(&v, 8, 0)
	v.State, v.Wanted = logger.StateWaiting, 5
	v.Act, v.Action = "turn to 1", "Free the pinion. Turn to position 1, 0 degrees. Hold the pinion. Rock three times."
	v.Caution = "Axle on rated stands, wheels off or free, nobody at the ignition; crown wheel teeth can take a finger."
	return v
}

func lostScene() logger.View {
	v := measuringScene()
	v.State = logger.StateLost
	v.Alert = "The gauge is gone: push its plug in again. All captures are stored."
	return v
}

func doneScene() logger.View {
	v := base(record.FeatureBacklash)
	around(&v, 8, -1, 0.172, 0.181, 0.196, 0.203, 0.199, 0.188, 0.177, 0.170)
	v.State = logger.StateDone
	v.Verdict = gum.Outside
	v.Reason = "4 of 8 positions lie above the window."
	v.Round.H1, v.Round.H2, v.Round.H2Known = analysis.Harmonic{Amplitude: 0.016, PhaseDeg: 141}, analysis.Harmonic{Amplitude: 0.002}, true
	model := setup.NewAdjusterModel(0.030, 0.010)
	model.Learn(setup.Move{Steps: 1, Before: 0.221, After: 0.186, BeforeU: 0.001, AfterU: 0.001})
	advice := model.Advise(v.Round, analysis.RoundSpec{Limits: v.Window}, setup.AdviceOptions{})
	v.Move, v.Action, v.Advice = &advice, words.Hands(advice), words.Advice(advice, sheet.Sheet{}.Length)
	return v
}

// insideScene is a finished round that needs nothing more.
func insideScene() logger.View {
	v := base(record.FeatureBacklash)
	around(&v, 8, -1, 0.152, 0.161, 0.166, 0.163, 0.159, 0.158, 0.157, 0.150)
	v.State, v.Verdict = logger.StateDone, gum.Inside
	v.Round.H1, v.Round.H2, v.Round.H2Known = analysis.Harmonic{Amplitude: 0.006, PhaseDeg: 141}, analysis.Harmonic{Amplitude: 0.002}, true
	advice := setup.NewAdjusterModel(0.030, 0.010).Advise(v.Round, analysis.RoundSpec{Limits: v.Window}, setup.AdviceOptions{})
	v.Move, v.Action, v.Advice = &advice, words.Advice(advice, sheet.Sheet{}.Length), words.Advice(advice, sheet.Sheet{}.Length)
	v.Conclusion = "The backlash swings 0.012 mm once a turn; the back face can account for about 0.010 of it."
	return v
}

// heldScene is a round that waits for a hold point.
func heldScene() logger.View {
	v := base(record.FeatureWheelBolts)
	v.Unit, v.Decimals, v.Stage = "N·m", 1, record.StageBench
	v.Window = gum.Limits{Lower: 95, Upper: 105, Unit: "N·m"}
	around(&v, 12, 0)
	v.State, v.Stored = logger.StateHeld, 0
	v.Alert = "Do not strip yet: the as-found backlash is not measured all round."
	v.Action = "Do that first, or go past it with a reason (o), which is kept in the record."
	return v
}

func boltsScene() logger.View {
	v := base(record.FeatureWheelBolts)
	v.Unit, v.Decimals = "N·m", 1
	v.Window = gum.Limits{Lower: 95, Upper: 105, Unit: "N·m"}
	nan := math.NaN()
	around(&v, 12, 4, 99.2, nan, nan, 101.4, nan, nan, 100.3, nan, nan, 106.1)
	for i := range v.Positions {
		v.Positions[i].AngleDeg = nan
		v.Positions[i].Label = fmt.Sprintf("bolt %d", i+1)
		pulled(&v.Positions[i], 3, 60)
	}
	v.Positions[1].Pulled, v.Positions[1].Value = 1, 30
	for i := range 160 {
		t := float64(i-159) / 20
		v.Trace = append(v.Trace, analysis.Sample{T: t, X: max(0, 98*math.Sin(math.Mod(t+8, 4)*math.Pi/4))})
	}
	v.Reading = 87.4
	v.Act, v.Action = "pull bolt 5", "Pull bolt 5 to 100.0 N·m (pass 3 of 3). LEFT-HAND thread."
	return v
}

// pulled says of a bolt that has no torque of the last of so many passes what the
// one before gave it.
func pulled(p *logger.PositionView, passes int, before float64) {
	p.Pulls, p.Pulled = passes, passes
	if math.IsNaN(p.Value) {
		p.Pulled, p.Value, p.Verdict = passes-1, before, gum.NotDecided
	}
}

// capsScene is of two caps, with a bolt that is not begun.
func capsScene() logger.View {
	v := base(record.FeatureCapBolts)
	v.Unit, v.Decimals, v.Keyed, v.Stage = "N·m", 1, true, record.StageCaps
	v.Window = gum.Limits{Lower: 76.5, Upper: 93.5, Unit: "N·m"}
	around(&v, 4, 2, 85, math.NaN(), math.NaN(), math.NaN())
	for i := range v.Positions {
		v.Positions[i].AngleDeg, v.Positions[i].Label = math.NaN(), fmt.Sprintf("bolt %d", i+1)
		pulled(&v.Positions[i], 2, 42.5)
	}
	v.Positions[3].Pulled, v.Positions[3].Value = 0, math.NaN()
	v.Act, v.Action = "pull bolt 3", "Pull bolt 3 to 85.0 N·m (pass 2 of 2)."
	return v
}

func runoutScene() logger.View {
	v := base(record.FeatureRunoutBackFace)
	v.Window = gum.Limits{Lower: math.NaN(), Upper: 0.05, Unit: "mm"}
	var values []float64
	for i := range 11 {
		values = append(values, 0.03+0.022*math.Sin(float64(i)*math.Pi/8))
	}
	around(&v, 16, 11, values...)
	for i := range v.Positions {
		v.Positions[i].Verdict = gum.NotDecided
	}
	for i := range 200 {
		t := float64(i-199) / 20
		v.Trace = append(v.Trace, analysis.Sample{T: t, X: 0.03 + 0.022*math.Sin(t/3)})
	}
	v.Reading, v.Estimate = 0.012, 0.044
	v.Act, v.Action = "turn to 12", "Turn to position 12, 247 degrees and let it rest."
	return v
}

func preloadScene() logger.View {
	v := base(record.FeaturePreloadPinion)
	v.Unit, v.Decimals = "N·m", 2
	v.Window = gum.Limits{Lower: 1, Upper: 1.6, Unit: "N·m"}
	around(&v, 1, 0)
	for i := range 200 {
		t := float64(i-199) / 20
		x := 1.42 + 0.08*math.Sin(6*t)
		if i < 12 {
			x = 2.1 * float64(i) / 12
		}
		v.Trace = append(v.Trace, analysis.Sample{T: t, X: x})
	}
	v.Reading, v.Estimate, v.EstimateU = 1.44, 1.42, 0.02
	v.Action = "Turn the pinion steadily, one turn in two seconds."
	return v
}

func leakScene() logger.View {
	v := base(record.FeatureLeakDown)
	v.Unit, v.Decimals = "kPa", 1
	v.Window = gum.Limits{Lower: math.NaN(), Upper: 3.5, Unit: "kPa/min"}
	around(&v, 1, 0)
	for i := range 240 {
		t := float64(i - 239)
		v.Trace = append(v.Trace, analysis.Sample{T: t, X: 700 - 0.005*(t+239)})
	}
	v.Reading, v.Estimate, v.EstimateU = 698.8, 0.31, 0.02
	v.Left, v.Leg = 660, "air test"
	v.Action = "Leave the valve closed. Eleven minutes to go."
	return v
}

// countdownScene is an air test with a gauge that is read by eye.
func countdownScene() logger.View {
	v := base(record.FeatureLeakDown)
	v.Unit, v.Decimals = "kPa", 0
	v.Window = gum.Limits{Lower: math.NaN(), Upper: 3.5, Unit: "kPa/min"}
	around(&v, 1, 0)
	v.Left, v.Leg = 461, "air test"
	v.Action = "Air test: 461 s to go. Do not touch the line."
	return v
}

var scenes = []struct {
	name string
	view logger.View
}{
	{"waiting", waitingScene()},
	{"measuring", measuringScene()},
	{"captured", capturedScene()},
	{"fault", faultScene()},
	{"lost", lostScene()},
	{"done", doneScene()},
	{"held", heldScene()},
	{"bolts", boltsScene()},
	{"caps", capsScene()},
	{"runout", runoutScene()},
	{"preload", preloadScene()},
	{"leak-down", leakScene()},
	{"countdown", countdownScene()},
	{"card", cardScene()},
}

func jobScene() JobView {
	hold := job.HoldPoint{
		Name: "back-face-in-limit", Before: "set-up backlash",
		Reason:   "The back face runs out 0.062 mm and the limit is 0.05 mm: a wheel that is not flat cannot be set up.",
		Blocking: true,
	}
	step := func(stage, name string, done bool) job.Step {
		a := feature.Assessment{Stage: stage, Feature: name, Complete: done, Needed: 8}
		return job.Step{Assessment: a, Title: name}
	}
	steps := []job.Step{
		step(record.StageAsFound, record.FeatureBacklash, true),
		step(record.StageAsFound, record.FeatureRunoutBackFace, true),
		step(record.StageBench, record.FeatureRunoutFlange, true),
		step(record.StageBench, record.FeatureWheelBolts, true),
		step(record.StageBench, record.FeatureRunoutBackFace, false),
		step(record.StageSetUp, record.FeaturePreloadPinion, false),
		step(record.StageSetUp, record.FeatureBacklash, false),
		step(record.StageSetUp, record.FeaturePatternDrive, false),
		step(record.StageSetUp, record.FeaturePatternCoast, false),
		step(record.StageCaps, record.FeatureCapBolts, false),
		step(record.StageCaps, record.FeatureBacklash, false),
		step(record.StageFinal, record.FeatureLeakDown, false),
		step(record.StageFinal, record.FeatureEngagement, false),
		step(record.StageFinal, record.FeatureOilFill, false),
	}
	steps[4].Measured = 3
	steps[4].Caution = "Nobody turns the ignition while hands are in the axle."
	steps[5].Optional = true
	steps[6].Hold = []job.HoldPoint{hold}
	return JobView{
		Steps: steps,
		Moves: []string{"+1: expected 0.189 ± 0.012, got 0.186 mm"},
		Holds: []job.HoldPoint{hold, {
			Name: "as-found-backlash", Before: "strip", Reason: "The as-found backlash is not recorded.",
			Skipped: "the axle came in pieces",
		}},
	}
}
