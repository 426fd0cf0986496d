package record

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestActive(t *testing.T) {
	plain := func(id, supersedes int) Capture { return Capture{ID: id, Supersedes: supersedes, Quality: QualityOK} }
	rejects := func(id, supersedes int) Capture {
		return Capture{ID: id, Supersedes: supersedes, Quality: QualityRejected}
	}
	tests := []struct {
		name string
		cs   []Capture
		want []int
	}{
		{"none", nil, nil},
		{"plain", []Capture{plain(1, 0), plain(2, 0)}, []int{1, 2}},
		{"superseded", []Capture{plain(1, 0), plain(2, 1)}, []int{2}},
		{"undone", []Capture{plain(1, 0), rejects(2, 1)}, nil},
		{"undone and measured", []Capture{plain(1, 0), rejects(2, 1), plain(3, 2)}, []int{3}},
		{"undone, measured, undone", []Capture{plain(1, 0), rejects(2, 1), plain(3, 2), rejects(4, 3)}, nil},
		{"measured again and undone", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2)}, []int{1}},
		{"and measured once more", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2), plain(4, 3)}, []int{4}},
		{"and undone again", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2), plain(4, 3), rejects(5, 4)}, []int{1}},
		{"both undone", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2), rejects(4, 1)}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []int
			for _, c := range Active(tt.cs) {
				got = append(got, c.ID)
			}
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestRevived(t *testing.T) {
	var s factStore
	first := s.add(StageFinal, FeatureBacklash, 0, QualityOK)
	again := s.add(StageFinal, FeatureBacklash, first, QualityOK)
	undone := s.add(StageFinal, FeatureBacklash, again, QualityRejected)
	assert.Equal(t, first, Revived(s.all, undone))
	gone := s.add(StageFinal, FeatureBacklash, first, QualityRejected)
	assert.Zero(t, Revived(s.all, gone), "there was nothing before the first")
	assert.Zero(t, Revived(s.all, first), "no rejection")
	assert.Empty(t, ids(Active(s.all)))
}

// TestActiveOfOneFeature: a line in the place of a lost one may supersede what it
// is not of, and is never given itself.
func TestActiveOfOneFeature(t *testing.T) {
	var s factStore
	kept := s.add(StageFinal, FeatureBacklash, 0, QualityOK)
	superseded := s.add(StageFinal, FeatureBacklash, 0, QualityOK)
	s.add(StageBench, FeatureBacklash, 0, QualityOK)
	s.add(StageFinal, FeatureOilFill, 0, QualityOK)
	s.add(StageFinal, FeatureMove, superseded, QualityLost)
	assert.Equal(t, []int{kept}, ids(ActiveOf(s.all, StageFinal, FeatureBacklash)))
	assert.Len(t, s.all, 5)
}

// TestMoveAsTheFirstLine counts like any other, but not for itself.
func TestMoveAsTheFirstLine(t *testing.T) {
	var s factStore
	assert.Zero(t, lastWork(s.all, StageFinal, FeatureBacklash))
	move := s.add(StageSetUp, FeatureMove, 0, QualityOK)
	assert.Equal(t, move, lastWork(s.all, StageFinal, FeatureBacklash))
	assert.Zero(t, lastWork(s.all, StageAsFound, FeatureBacklash), "what was as found stays")
	s.add(StageFinal, FeatureBacklash, 0, QualityOK)
	assert.False(t, emptied(s.all, StageFinal, FeatureBacklash))
	assert.False(t, emptied(s.all, StageBench, FeatureBacklash), "nothing was measured")
	s.add(StageSetUp, FeatureMove, 0, QualityOK)
	assert.True(t, emptied(s.all, StageFinal, FeatureBacklash))
	assert.False(t, emptied(s.all, StageFinal, FeatureRunoutBackFace))
	s.add(StageSetUp, FeatureMove, 3, QualityRejected)
	assert.Equal(t, move, lastWork(s.all, StageFinal, FeatureBacklash), "a move that was taken back")
	assert.Equal(t, []int{2}, ids(Valid(s.all, StageFinal, FeatureBacklash)))
}
