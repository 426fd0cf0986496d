package record

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var noteTime = time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC)

// A factStore is a store in memory.
type factStore struct{ all []Capture }

func (s *factStore) Append(c Capture) (Capture, error) {
	c.ID = len(s.all) + 1
	s.all = append(s.all, c)
	return c, nil
}

func (s *factStore) Captures() []Capture { return s.all }

func (s *factStore) add(stage, feature string, supersedes int, quality string) int {
	c := Blank(stage, feature, noteTime)
	c.Supersedes, c.Quality = supersedes, quality
	stored, _ := s.Append(c) // cannot fail
	return stored.ID
}

func ids(cs []Capture) (all []int) {
	for _, c := range cs {
		all = append(all, c.ID)
	}
	return all
}

func TestFactsAreRecorded(t *testing.T) {
	var s factStore
	move, err := AddMove(&s, StageSetUp, Move{Amount: -2, Unit: "notch", Note: "left first", Unseated: true}, noteTime)
	require.NoError(t, err)
	assert.Equal(t, Capture{
		ID: 1, Time: noteTime, Stage: StageSetUp, Feature: FeatureMove, Value: -2, Unit: "notch", Note: "left first", Unseated: true, Quality: QualityOK,
	}, withoutNaN(move))
	shim, err := AddMove(&s, StageSetUp, Move{Amount: 0.05, Unit: "mm", Reversed: true}, noteTime)
	require.NoError(t, err)
	assert.Equal(t, "reversed", shim.NoteText())
	note, err := AddNote(&s, StageFinal, "sealant", noteTime)
	require.NoError(t, err)
	assert.Equal(t, "sealant", note.Note)
	override, err := AddOverride(&s, StageBench, "back-face", "flat by the shop", noteTime)
	require.NoError(t, err)
	assert.Equal(t, [2]string{"back-face", "flat by the shop"}, [2]string{override.Hold, override.Note})

	for _, amount := range []float64{0, math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, err = AddMove(&s, StageSetUp, Move{Amount: amount, Unit: "mm"}, noteTime)
		require.ErrorContains(t, err, "want a number of notches or mm, not 0")
	}
	_, err = AddMove(&s, StageSetUp, Move{Amount: 1, Unit: "in"}, noteTime)
	require.EqualError(t, err, `unit "in" of a move: want notch or mm`)
	_, err = AddNote(&s, StageFinal, " \t", noteTime)
	require.EqualError(t, err, "the note is empty")
	_, err = AddOverride(&s, StageBench, "back-face", " ", noteTime)
	require.EqualError(t, err, `" " is no reason: say in 2 words or more, of 8 letters together, why it is skipped`)
	assert.Len(t, s.all, 4)
}

// withoutNaN lets captures be compared.
func withoutNaN(c Capture) Capture {
	for _, v := range []*float64{&c.AngleDeg, &c.Value, &c.U, &c.Low, &c.High, &c.Repeatability, &c.RadiusMM} {
		if math.IsNaN(*v) {
			*v = 0
		}
	}
	return c
}

// TestOnlyWhatStandsIsTakenBack, the first and the last line too.
func TestOnlyWhatStandsIsTakenBack(t *testing.T) {
	var s factStore
	first := s.add(StageFinal, FeatureLeakDown, 0, QualityOK)
	second := s.add(StageFinal, FeatureLeakDown, first, QualityOK)
	for number, want := range map[int]string{
		0: "no number 0 in the record, which has 2 lines", 3: "no number 3 in the record, which has 2 lines",
		first: "number 1 does not stand any more: a later line takes its place",
	} {
		_, err := Reject(&s, number, noteTime)
		require.EqualError(t, err, want)
	}
	was, err := Reject(&s, second, noteTime.Add(time.Minute))
	require.NoError(t, err)
	assert.Equal(t, second, was.ID)
	assert.Equal(t, Capture{
		ID: 3, Supersedes: second, Time: noteTime.Add(time.Minute), Stage: StageFinal, Feature: FeatureLeakDown, Quality: QualityRejected,
	}, withoutNaN(s.all[2]))
	_, err = Reject(&s, 3, noteTime)
	require.EqualError(t, err, "number 3 takes number 2 back already; record it anew instead")
	_, err = Reject(&s, first, noteTime)
	require.NoError(t, err, "it stands again")
	assert.Empty(t, Active(s.all))
}

func TestStandingAfterAMove(t *testing.T) {
	var s factStore
	found := s.add(StageAsFound, FeatureBacklash, 0, QualityOK)
	s.add(StageSetUp, FeatureBacklash, 0, QualityOK)
	torque := s.add(StageSetUp, FeaturePreloadPinion, 0, QualityOK)
	for _, flank := range []string{FeaturePatternDrive, FeaturePatternCoast} {
		s.add(StageSetUp, flank, 0, QualityOK)
	}
	assert.False(t, emptied(s.all, StageSetUp, FeatureBacklash), "nothing was moved")
	move := s.add(StageBench, FeatureMove, 0, QualityOK)
	for _, feature := range []string{FeatureBacklash, FeaturePatternDrive, FeaturePatternCoast} {
		assert.Empty(t, Valid(s.all, StageSetUp, feature), feature)
		assert.True(t, emptied(s.all, StageSetUp, feature), feature)
	}
	assert.Equal(t, []int{torque}, ids(Valid(s.all, StageSetUp, FeaturePreloadPinion)))
	assert.False(t, emptied(s.all, StageSetUp, FeaturePreloadPinion))
	assert.False(t, emptied(s.all, StageFinal, FeatureBacklash), "never measured there")
	assert.Equal(t, []int{found}, ids(Valid(s.all, StageAsFound, FeatureBacklash)), "as it was found")
	again := s.add(StageSetUp, FeatureBacklash, 0, QualityOK)
	assert.Equal(t, []int{again}, ids(Valid(s.all, StageSetUp, FeatureBacklash)))
	assert.False(t, emptied(s.all, StageSetUp, FeatureBacklash))

	s.add(StageBench, FeatureMove, move, QualityRejected)
	assert.Equal(t, []int{2, again}, ids(Valid(s.all, StageSetUp, FeatureBacklash)), "the move is taken back")
	s.add(StageAsFound, FeatureMove, 0, QualityOK)
	assert.Equal(t, []int{found}, ids(Valid(s.all, StageAsFound, FeatureBacklash)), "moved in that stage itself, by an earlier program")
}

// TestLostLineStillSupersedes: what its words named stays replaced, of whatever
// feature it was.
func TestLostLineStillSupersedes(t *testing.T) {
	var s factStore
	first := s.add(StageFinal, FeatureLeakDown, 0, QualityOK)
	assert.Equal(t, []int{first}, ids(Valid(s.all, StageFinal, FeatureLeakDown)))
	s.add(StageBench, FeatureNote, first, QualityLost)
	assert.Empty(t, Valid(s.all, StageFinal, FeatureLeakDown))
	move := s.add(StageBench, FeatureMove, 0, QualityOK)
	assert.Equal(t, move, lastWork(s.all, StageFinal, FeatureBacklash))
	s.add(StageBench, FeatureNote, move, QualityLost)
	assert.Zero(t, lastWork(s.all, StageFinal, FeatureBacklash), "by a lost line taken back")
}
