package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// narrow gives the example sheet a backlash window of the given width.
func narrow(lower, upper float64) sheet.Sheet {
	s := sheet.Example()
	s.Windows[0].Lower, s.Windows[0].Upper = &lower, &upper
	return s
}

func TestScatterTakesMoreRocks(t *testing.T) {
	tests := []struct {
		name    string
		sheet   sheet.Sheet
		scatter float64 // mm of the high stop from rock to rock
		want    int     // rocks behind the capture, at least
	}{
		{"steady hand, wide window", sheet.Example(), 0, 3},
		{"scattering rocks", sheet.Example(), 0.012, 5},
		{"window too narrow for any number", narrow(0.155, 0.163), 0.002, 3},
		{"near a limit, where more help", narrow(0.13, 0.169), 0.005, 4},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := newHandTrace(41)
			p := play(t, &memoryStore{}, RoundConfig{Sheet: tt.sheet})
			for i := range 9 {
				h.rock(0, 0.16+tt.scatter*float64(i%2), 1)
			}
			p.feed(h.take())
			require.Len(t, p.store.captures, 1, "%+v", p.View())
			assert.GreaterOrEqual(t, p.store.captures[0].N, tt.want)
			if tt.want == 3 {
				assert.Less(t, p.store.captures[0].N, 5)
			}
		})
	}
}

func TestRoundWarnsOfAWindowItCannotDecide(t *testing.T) {
	fine := play(t, &memoryStore{}, RoundConfig{Resolution: 0.001})
	assert.NotContains(t, fine.View().Caution, "cannot be decided")
	coarse := play(t, &memoryStore{}, RoundConfig{Sheet: narrow(0.15, 0.16), Resolution: 0.01})
	assert.Contains(t, coarse.View().Caution, "cannot be decided")
	assert.Contains(t, coarse.View().Caution, "finer gauge")
}

func TestDoneRoundAdvises(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true, Stage: record.StageSetUp})
	p.key(0.30, 0.31, 0.30, 0.31, 0.30, 0.31, 0.30, 0.31)
	v := p.View()
	assert.Equal(t, gum.Outside, v.Verdict)
	require.NotNil(t, v.Move)
	assert.True(t, v.Move.Needed)
	assert.Equal(t, words.Advice(*v.Move, sheet.Sheet{}.Length), v.Advice)
	assert.Equal(t, words.Hands(*v.Move), v.Action, "the advice is the next thing to do")
	require.NoError(t, p.Command(CmdUndo))
	assert.Nil(t, p.View().Move, "not while the round is open")
}

// TestViewDoesNotChange: what was handed out stays as it was.
func TestViewDoesNotChange(t *testing.T) {
	h := newHandTrace(42)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.handsOff(3, 4)
	events := h.take()
	p.feed(events[:len(events)/2])
	v := p.View()
	require.NotEmpty(t, v.Trace)
	require.NotEmpty(t, v.Stops)
	trace := append([]analysis.Sample{}, v.Trace...)
	stops := append([]feature.Stop{}, v.Stops...)
	positions := append([]PositionView{}, v.Positions...)
	missing := append([]int{}, v.Round.Missing...)
	p.feed(events[len(events)/2:])
	assert.Equal(t, trace, v.Trace)
	assert.Equal(t, stops, v.Stops)
	assert.Equal(t, missing, v.Round.Missing)
	for i := range positions {
		assert.Equal(t, positions[i].Current, v.Positions[i].Current)
	}
	for _, s := range v.Stops {
		assert.LessOrEqual(t, s.From, s.To)
		assert.LessOrEqual(t, s.To, 0.0)
	}
}

// BenchmarkRoundHandle is the cost of one reading through a backlash round
// while it is being measured.
func BenchmarkRoundHandle(b *testing.B) {
	h := newHandTrace(43)
	h.rate = 1000
	h.rock(0, 0.16, 2) // too few for a capture
	events := h.take()
	r, err := NewRound(RoundConfig{Sheet: sheet.Example(), Stage: record.StageAsFound, Feature: record.FeatureBacklash, Store: &memoryStore{}})
	require.NoError(b, err)
	b.ReportAllocs()
	i, length := 0, h.at.Sub(testTime)
	for b.Loop() {
		if i == len(events) {
			i = 0
			for k := range events {
				events[k].Time = events[k].Time.Add(length)
				events[k].Reading.Time = events[k].Time
			}
			require.NoError(b, r.Command(CmdRetry))
		}
		if err := r.Handle(events[i]); err != nil {
			b.Fatal(err)
		}
		i++
	}
	require.Zero(b, r.shown.Stored)
}
