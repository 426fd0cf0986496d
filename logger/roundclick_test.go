package logger

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A wrench without a reading clicks at what it is set to: that goes on record as
// the torque, and that nothing was read.
func TestClickOfAWrenchWithoutReading(t *testing.T) {
	p := boltRound(t, &memoryStore{}, RoundConfig{Keyed: true})
	require.True(t, p.View().Keyed)
	require.NoError(t, p.Command(CmdClick))
	require.Len(t, p.store.captures, 1)
	c := p.store.captures[0]
	assert.InDelta(t, 29.4, c.Value, 1e-9)
	assert.Equal(t, record.QualityClick, c.Quality)
	assert.Equal(t, record.Pass{N: 1, Of: 3, Percent: 30}, c.Pass)
	assert.Equal(t, "clicked at its setting, nothing read", c.Note)
	assert.Equal(t, "Pull bolt 6 to 29.4 N·m (pass 1 of 3).", p.View().Action)
}

func TestClickBesideAWrenchThatReads(t *testing.T) {
	p := boltRound(t, &memoryStore{}, RoundConfig{})
	require.NoError(t, p.Command(CmdClick))
	require.Len(t, p.store.captures, 1)
	assert.False(t, p.View().Keyed)
}

func TestOnlyABoltIsClicked(t *testing.T) {
	for _, keyed := range []bool{true, false} {
		p := play(t, &memoryStore{}, RoundConfig{Keyed: keyed})
		require.NoError(t, p.Command(CmdClick))
		assert.Empty(t, p.store.captures)
		assert.Equal(t, "Only a bolt is clicked.", p.View().Alert)
	}
}

// An early pass is one key; the last, which the bolts are judged by, is not.
func TestClicksOfAWholePass(t *testing.T) {
	p := boltRound(t, &memoryStore{}, RoundConfig{Keyed: true})
	require.NoError(t, p.Command(CmdClick))
	require.NoError(t, p.Command(CmdClickPass))
	require.Len(t, p.store.captures, 10, "the others of the pass")
	require.NoError(t, p.Command(CmdClickPass))
	require.Len(t, p.store.captures, 20)
	assert.Equal(t, record.Pass{N: 2, Of: 3, Percent: 60}, p.store.captures[19].Pass)
	require.NoError(t, p.Command(CmdClickPass))
	require.Len(t, p.store.captures, 20, "none of the last pass")
	assert.Contains(t, p.View().Alert, "bolt by bolt")
	for range 10 {
		require.NoError(t, p.Command(CmdClick))
	}
	assert.True(t, p.Done())
	assert.Equal(t, "inside", string(p.View().Verdict), "within what ISO 6789 permits the wrench")
}

// The torque at the bolt is on record, not what an adapter makes the wrench be
// set to.
func TestClickWithAnAdapter(t *testing.T) {
	s := sheet.Example()
	s.Bolts[0].PassesPct, s.Bolts[0].WrenchLength, s.Bolts[0].AdapterLength = []int{100}, 400, 100
	p := boltRound(t, &memoryStore{}, RoundConfig{Sheet: s, Keyed: true})
	assert.Contains(t, p.View().Action, "to 78.4 N·m", "98 by 400 of 500 mm")
	require.NoError(t, p.Command(CmdClick))
	require.Len(t, p.store.captures, 1)
	assert.InDelta(t, 98, p.store.captures[0].Value, 1e-6)
	assert.Empty(t, p.View().Alert)
}

// Torque and then an angle: of the angle only that it was turned is on record,
// and by how much where that was typed; the bolts are judged by the torque before.
func TestTorqueThenAngle(t *testing.T) {
	s := sheet.Example()
	s.Bolts[0].PassesPct, s.Bolts[0].AngleDeg, s.Bolts[0].Count = []int{50, 100}, 90, 4
	p := boltRound(t, &memoryStore{}, RoundConfig{Sheet: s})
	w := newWrench()
	require.NoError(t, p.Command(CmdClickPass))
	for range 4 {
		w.pull(98)
	}
	p.feed(w.take())
	require.Len(t, p.store.captures, 8)
	v := p.View()
	assert.False(t, p.Done(), "a bolt that was not turned on is not done")
	assert.Equal(t, []int{1, 2, 3, 4}, v.Missing)
	assert.Equal(t, "Turn bolt 1 on by 90° and press enter, or type the degrees.", v.Action)
	assert.Equal(t, []int{2, 3}, []int{v.Positions[0].Pulled, v.Positions[0].Pulls})

	w.pull(140)
	p.feed(w.take())
	require.Len(t, p.store.captures, 8, "what the wrench shows on the way is no torque of the bolt")
	require.NoError(t, p.Command(CmdClickPass))
	require.Len(t, p.store.captures, 8, "bolt by bolt")
	require.NoError(t, p.Command(CmdClick))
	require.NoError(t, p.Command(CmdKeyed(85, "")))
	assert.Empty(t, p.View().Alert)
	for _, wrong := range []Command{CmdKeyed(0, ""), CmdKeyed(-90, ""), CmdKeyed(361, ""), CmdKeyed(90, "N·m")} {
		require.NoError(t, p.Command(wrong))
	}
	require.Len(t, p.store.captures, 10)
	require.NoError(t, p.Command(CmdKeyed(60, "")))
	assert.Contains(t, p.View().Alert, "turned on by 60°, and job.toml says 90°")
	require.NoError(t, p.Command(CmdClick))
	assert.True(t, p.Done())
	assert.Equal(t, "inside", string(p.View().Verdict))
	assert.InDelta(t, 98, p.View().Positions[0].Value, 0.5, "the torque before it")
	for i, degrees := range []float64{90, 85, 60, 90} {
		c := p.store.captures[8+i]
		assert.True(t, math.IsNaN(c.Value) && math.IsNaN(c.U), "no figure that nobody read")
		assert.Equal(t, record.QualityClick, c.Quality)
		assert.Equal(t, record.Pass{N: 2, Of: 2, Percent: 100, Degrees: degrees}, c.Pass)
	}
	again := boltRound(t, p.store, RoundConfig{Sheet: s})
	assert.True(t, again.Done(), "taken up again where it was")
}

// A whole pass clicked at once is played again from its readings as it was.
func TestClicksOfAWholePassReplay(t *testing.T) {
	kept := &sink{}
	p := boltRound(t, &memoryStore{}, RoundConfig{Keyed: true, Readings: kept})
	require.NoError(t, p.Command(CmdClickPass))
	require.NoError(t, p.Command(CmdClick))
	again, err := Replay(p.cfg.Sheet, p.store.captures, "a.csv", func(yield func(device.Event, error) bool) {
		for _, ev := range kept.events {
			if !yield(ev, nil) {
				return
			}
		}
	})
	require.NoError(t, err)
	require.Len(t, again, 11)
	for i, c := range again {
		was := p.store.captures[i]
		assert.Equal(t, was.Pass, c.Pass)
		assert.Equal(t, was.Position, c.Position)
		assert.WithinDuration(t, was.Time, c.Time, 0)
	}
}

// A sink keeps what a round puts into its readings.
type sink struct{ events []device.Event }

func (s *sink) Record(ev device.Event) error {
	s.events = append(s.events, ev)
	return nil
}
