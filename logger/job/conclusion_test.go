package job

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// onceAround is an invented once-a-turn movement of so much either way.
func onceAround(amplitude, phase, mean float64) func(int) float64 {
	return func(i int) float64 { return mean + amplitude*math.Cos((45*float64(i)-phase)*math.Pi/180) }
}

func twiceAround(amplitude float64) func(int) float64 {
	return func(i int) float64 { return amplitude * math.Cos(math.Pi/2*float64(i)) }
}

func TestFaceRemedy(t *testing.T) {
	tests := []struct {
		name         string
		flange, face func(int) float64
		stage        string
		bolts        bool
		want         string
	}{
		{"inside", onceAround(0.02, 0, 0), onceAround(0.02, 0, 0), record.StageBench, true, ""},
		{"as found", nil, onceAround(0.06, 0, 0), record.StageAsFound, true, ""},
		{"no flange", nil, onceAround(0.06, 0, 0), record.StageBench, true, "Clean and stone both faces, re-seat the wheel and measure again; if the run-out stays, take the wheel off and measure the bare flange from the same mark."},
		{"flange out", onceAround(0.04, 0, 0), onceAround(0.06, 0, 0), record.StageBench, true, "The bare flange itself runs out 0.080 mm, beyond 0.050 mm: look at the bearings and the case, not at the crown wheel."},
		{"warped", onceAround(0.01, 0, 0), twiceAround(0.06), record.StageBench, true, "0.120 mm of the run-out does not come once a turn and cannot be cured by turning the wheel: clean both faces, re-seat it and check that its bolts are tightened evenly."},
		// Equal parts of flange and wheel cancel when the wheel turns half round.
		{"half round", onceAround(0.02, 0, 0), onceAround(0.05, 0, 0), record.StageBench, true, "Turn the crown wheel by 5 bolt holes on its flange (180°, from position 1 towards 2): the run-out should fall from 0.100 mm to 0.020 mm, if dowels and holes allow it and both faces were read from the same side and mark."},
		// The wheel's own part stands at 216°, one hole beyond what faces the flange's.
		{"one hole back", onceAround(0.022, 0, 0), sum(onceAround(0.022, 0, 0), onceAround(0.06, 216, 0)), record.StageBench, true, "Turn the crown wheel by 1 bolt hole on its flange (36°, from position 2 towards 1): the run-out should fall from 0.088 mm to 0.076 mm, if dowels and holes allow it and both faces were read from the same side and mark."},
		{"gear itself", onceAround(0.005, 0, 0), onceAround(0.07, 0, 0), record.StageBench, true, "The best bolt hole would still leave 0.120 mm: the gear itself runs out, replace it with its pinion."},
		{"best already", onceAround(0.02, 180, 0), onceAround(0.0395, 0, 0), record.StageBench, true, "No bolt hole is better than this one: clean and stone both faces and re-seat the wheel; if the run-out stays, the gear itself runs out."},
		{"bolts not listed", onceAround(0.02, 0, 0), onceAround(0.05, 0, 0), record.StageBench, false, "Turn the crown wheel on its flange and measure again; the best bolt hole can be told once flange and back face are measured by positions and job.toml lists the bolts."},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			sheet, store := sheet.Example(), &memory{}
			if !tt.bolts {
				sheet.Bolts = nil
			}
			if tt.flange != nil {
				fill(t, store, tt.stage, record.FeatureRunoutFlange, tt.flange)
			}
			fill(t, store, tt.stage, record.FeatureRunoutBackFace, tt.face)
			assert.Equal(t, tt.want, Conclusion(sheet, store.all, tt.stage, record.FeatureRunoutBackFace))
		})
	}
}

func sum(a, b func(int) float64) func(int) float64 {
	return func(i int) float64 { return a(i) + b(i) }
}

func TestBacklashAndFace(t *testing.T) {
	sheet, store := sheet.Example(), &memory{}
	gain, err := sheet.AxialGain()
	require.NoError(t, err)
	fill(t, store, record.StageAsFound, record.FeatureRunoutBackFace, onceAround(0.05, 0, 0))
	fill(t, store, record.StageSetUp, record.FeatureBacklash, onceAround(gain*0.03, 130, 0.16))
	about := func() string { return Conclusion(sheet, store.all, record.StageSetUp, record.FeatureBacklash) }
	assert.Empty(t, about(), "the face as found is another build's")
	fill(t, store, record.StageBench, record.FeatureRunoutBackFace, onceAround(0.03, 40, 0))
	assert.Contains(t, about(), "is not known without face_to_mesh_deg")

	offset := 90.0
	sheet.Plunger.FaceToMeshDeg = &offset
	assert.Contains(t, about(), "explains 100 % of the backlash's variation")
	assert.Contains(t, about(), "the gear's seat makes it")
	offset = 0
	assert.Contains(t, about(), "tooth spacing and the pinion", "a quarter turn apart")

	// Without the angle a face that is nearly true still says where not to look.
	sheet.Plunger.FaceToMeshDeg = nil
	store.all = nil
	fill(t, store, record.StageBench, record.FeatureRunoutBackFace, onceAround(0.005, 40, 0))
	fill(t, store, record.StageSetUp, record.FeatureBacklash, onceAround(gain*0.03, 130, 0.16))
	assert.Equal(t, "The backlash swings 0.040 mm once a turn; the back face can account for about 0.007 mm of it: look at the tooth spacing and the pinion for the rest.", about())
	sheet.Plunger.Measured = "unknown"
	assert.Empty(t, about(), "read in another direction than the sheet says")
}

func TestBacklashAsEvenAsItsUncertaintySaysNothing(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageBench, record.FeatureRunoutBackFace, onceAround(0.03, 40, 0))
	fill(t, store, record.StageSetUp, record.FeatureBacklash, func(int) float64 { return 0.16 })
	assert.Empty(t, Conclusion(sheet.Example(), store.all, record.StageSetUp, record.FeatureBacklash))
}

func TestCarrierShare(t *testing.T) {
	example, store := sheet.Example(), &memory{}
	fill(t, store, record.StageAsFound, record.FeaturePreloadTotal, steady(1.2))
	fill(t, store, record.StageSetUp, record.FeaturePreloadPinion, steady(1.5))
	fill(t, store, record.StageCaps, record.FeaturePreloadTotal, steady(2.1))
	assert.Empty(t, Conclusion(example, store.all, record.StageAsFound, record.FeaturePreloadTotal))
	assert.Equal(t, "The pinion's bearings take 1.50 N·m of it, the carrier's 2.35 N·m at the crown wheel (43:11 teeth), mesh drag included.",
		Conclusion(example, store.all, record.StageCaps, record.FeaturePreloadTotal))
	last := &store.all[len(store.all)-1]
	last.U, store.all[1].U = 0.03, 0.04
	assert.Contains(t, Conclusion(example, store.all, record.StageCaps, record.FeaturePreloadTotal), "2.35 ± 0.39 N·m", "0.05 of the difference, k = 2, by the ratio")
	last.Value = 1.4
	assert.Contains(t, Conclusion(example, store.all, record.StageCaps, record.FeaturePreloadTotal), "measure both again")
	example.GearSet = sheet.GearSet{}
	assert.Empty(t, Conclusion(example, store.all, record.StageCaps, record.FeaturePreloadTotal), "without tooth counts")
}

func TestOutcome(t *testing.T) {
	s := sheet.Example()
	m := &memory{}
	assert.Equal(t, Outcome{}, OutcomeOf(s, nil, record.StageSetUp, record.FeatureBacklash), "nothing to advise from")
	fill(t, m, record.StageAsFound, record.FeatureBacklash, steady(0.165))
	assert.Nil(t, OutcomeOf(s, m.all, record.StageAsFound, record.FeatureBacklash).Move, "the adjusters are moved once the new centre is in")
	s.Stages = []string{record.StageAsFound, record.StageFinal}
	assert.Nil(t, OutcomeOf(s, m.all, record.StageAsFound, record.FeatureBacklash).Move, "what is as found is not moved")

	s = sheet.Example()
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.30))
	o := OutcomeOf(s, m.all, record.StageSetUp, record.FeatureBacklash)
	want, err := AdviseMove(s, m.all)
	require.NoError(t, err)
	require.True(t, want.Needed)
	require.NotNil(t, o.Move)
	assert.Equal(t, want.Steps, o.Move.Steps)
	assert.Equal(t, words.Advice(want, s.Length), o.Advice)
	assert.Equal(t, words.Hands(want), o.Next)
	assert.Empty(t, o.Conclusion)

	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.165))
	want, err = AdviseMove(s, m.all)
	require.NoError(t, err)
	require.False(t, want.Needed)
	assert.Equal(t, words.Advice(want, s.Length), OutcomeOf(s, m.all, record.StageSetUp, record.FeatureBacklash).Next)

	fill(t, m, record.StageBench, record.FeatureRunoutBackFace, twiceAround(0.06))
	o = OutcomeOf(s, m.all, record.StageBench, record.FeatureRunoutBackFace)
	assert.Contains(t, o.Conclusion, "does not come once a turn")
	assert.Equal(t, Outcome{Conclusion: o.Conclusion, Advice: o.Conclusion, Next: o.Conclusion}, o)

	assert.Equal(t, Outcome{}, OutcomeOf(s, m.all, record.StageFinal, record.FeatureLeakDown))
}

// TestSameBuild: a preload of the pinion belongs to the total of its own stage,
// else to the latest; what was as found to nothing after it.
func TestSameBuild(t *testing.T) {
	m := &memory{}
	assert.Empty(t, sameBuild(m.all, record.StageCaps, record.FeaturePreloadPinion))
	for _, stage := range []string{record.StageAsFound, record.StageSetUp, record.StageFinal, record.StageBench} {
		put(t, m, stage, record.FeaturePreloadPinion, 0, 1.5, 0.1)
	}
	put(t, m, record.StageCaps, record.FeaturePreloadTotal, 0, 1.5, 0.1)
	for stage, want := range map[string]string{record.StageCaps: record.StageBench, record.StageSetUp: record.StageSetUp, record.StageAsFound: record.StageAsFound} {
		assert.Equal(t, want, sameBuild(m.all, stage, record.FeaturePreloadPinion))
	}
	assert.Empty(t, sameBuild(m.all, record.StageAsFound, record.FeaturePreloadTotal))
}

func TestCarrierShareNeedsBoth(t *testing.T) {
	m := &memory{}
	put(t, m, record.StageSetUp, record.FeaturePreloadPinion, 0, 1.5, 0.1)
	assert.Empty(t, Conclusion(sheet.Example(), m.all, record.StageCaps, record.FeaturePreloadTotal), "no total")
	put(t, m, record.StageCaps, record.FeaturePreloadTotal, 0, 1.5, 0)
	m.all[0].U = 0
	assert.Equal(t, "The pinion's bearings take 1.50 N·m of it, the carrier's 0.00 N·m at the crown wheel (43:11 teeth), mesh drag included.",
		Conclusion(sheet.Example(), m.all, record.StageCaps, record.FeaturePreloadTotal), "nothing left for the carrier")
}

// TestFlangeOfTwoPlacesTellsNothing: two could lie on the same diameter.
func TestFlangeOfTwoPlacesTellsNothing(t *testing.T) {
	m := &memory{}
	keyed(t, m, record.StageBench, record.FeatureRunoutFlange, 0, 0.01)
	fill(t, m, record.StageBench, record.FeatureRunoutBackFace, onceAround(0.06, 0, 0))
	assert.Contains(t, Conclusion(sheet.Example(), m.all, record.StageBench, record.FeatureRunoutBackFace), "measure the bare flange from the same mark")
}

// TestFacesShareWithoutTheGeometry: 0.65 of the face's 0.010 mm is 0.0065.
func TestFacesShareWithoutTheGeometry(t *testing.T) {
	m, s := &memory{}, sheet.Example()
	s.GearSet.PressureAngleDeg = 0
	fill(t, m, record.StageBench, record.FeatureRunoutBackFace, onceAround(0.010, 40, 0))
	fill(t, m, record.StageSetUp, record.FeatureBacklash, onceAround(0.03, 130, 0.16))
	assert.Contains(t, Conclusion(s, m.all, record.StageSetUp, record.FeatureBacklash), "swings 0.060 mm once a turn; the back face can account for about 0.013 mm of it")
}

// TestFlangeOfATurnHasNoBestHole: without its places nobody knows where it is high.
func TestFlangeOfATurnHasNoBestHole(t *testing.T) {
	m := &memory{}
	put(t, m, record.StageBench, record.FeatureRunoutFlange, 0, 0.02, 0.002)
	fill(t, m, record.StageBench, record.FeatureRunoutBackFace, onceAround(0.06, 0, 0))
	assert.Contains(t, Conclusion(sheet.Example(), m.all, record.StageBench, record.FeatureRunoutBackFace), "the best bolt hole can be told once flange and back face are measured by positions")
}

// TestAdviceIsInTheManualsUnit: a fitter whose manual prints inches reads none of mm.
func TestAdviceIsInTheManualsUnit(t *testing.T) {
	s, low, high := sheet.Example(), 0.005, 0.007
	for i, w := range s.Windows {
		if w.Feature == record.FeatureBacklash {
			s.Windows[i].Unit, s.Windows[i].Lower, s.Windows[i].Upper = "in", &low, &high
			s.Windows[i].AlsoUnit, s.Windows[i].AlsoLower, s.Windows[i].AlsoUpper = "", nil, nil
		}
	}
	m := &memory{}
	fill(t, m, record.StageSetUp, record.FeatureBacklash, func(int) float64 { return 0.30 })
	o := OutcomeOf(s, m.all, record.StageSetUp, record.FeatureBacklash)
	require.NotNil(t, o.Move)
	assert.Regexp(t, `The mean should become 0\.00\d\d ± 0\.00\d\d in\.`, o.Advice)
	assert.NotContains(t, o.Advice, " mm")
}
