package job

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A memory keeps captures in memory.
type memory struct{ all []record.Capture }

func (m *memory) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(m.all) + 1
	m.all = append(m.all, c)
	return c, nil
}

func (m *memory) Captures() []record.Capture { return m.all }

// put stores one capture as the example's sheet reads it.
func put(t *testing.T, store *memory, stage, name string, position int, value, u float64) {
	t.Helper()
	c := record.Blank(stage, name, testTime)
	c.Position, c.Value, c.U, c.N, c.Unit = position, value, u, 1, record.FeatureOf(name).Unit
	for _, p := range feature.Positions(sheet.Example(), name) {
		if p.Index == position {
			c.AngleDeg = p.AngleDeg
		}
	}
	if name == record.FeatureLeakDown {
		c.High = 690 // the test pressure
	}
	if record.IsBacklash(name) {
		c = sheet.Example().AsMeasured(c)
	}
	_, err := store.Append(c)
	require.NoError(t, err)
}

// usualU are standard uncertainties as typed values of the example have them;
// those of the others are not known.
var usualU = map[string]float64{
	record.FeatureBacklash: 0.002, record.FeatureSnug: 0.002, record.FeatureRunoutBackFace: 0.002, record.FeatureRunoutFlange: 0.002,
	record.FeatureWheelBolts: 0.5, record.FeatureCapBolts: 0.5,
}

// keyed stores values at the first positions of a feature.
func keyed(t *testing.T, store *memory, stage, name string, values ...float64) {
	t.Helper()
	u, ok := usualU[name]
	if !ok {
		u = math.NaN()
	}
	f, ok := feature.Find(name)
	require.True(t, ok)
	visits := f.VisitsOf(sheet.Example(), feature.Positions(sheet.Example(), name))
	for i, v := range values {
		put(t, store, stage, name, visits[i].Position.Index, v, u)
		store.all[len(store.all)-1].Pass = record.Pass{N: visits[i].Pass, Of: visits[i].Passes}
	}
}

// fill stores a feature at all its positions, of bolts in all passes.
func fill(t *testing.T, store *memory, stage, name string, value func(i int) float64) {
	t.Helper()
	f, ok := feature.Find(name)
	require.True(t, ok)
	values := make([]float64, len(f.VisitsOf(sheet.Example(), feature.Positions(sheet.Example(), name))))
	for i := range values {
		values[i] = value(i)
	}
	keyed(t, store, stage, name, values...)
}

func steady(v float64) func(int) float64 { return func(int) float64 { return v } }

// holdNamed is a hold point of the example's job.
func holdNamed(t *testing.T, store *memory, name string) HoldPoint {
	t.Helper()
	for _, h := range HoldPoints(sheet.Example(), store.all) {
		if h.Name == name {
			return h
		}
	}
	t.Fatalf("no hold point %s", name)
	return HoldPoint{}
}
