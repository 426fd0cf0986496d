package feature

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// The window is 0.13 to 0.20 mm; what a place takes depends on what its uncertainty
// is made of.
func TestWhatWouldDecide(t *testing.T) {
	for name, c := range map[string]struct {
		stage             string
		value, u          float64 // of place 3; the others lie in the middle
		own, hand, others float64
		rocks             int
		quality           string
		want              string
	}{
		"decided":            {record.StageFinal, 0.165, 0.002, 0.001, 0.001, 0.165, 3, record.QualityOK, ""},
		"rocks that scatter": {record.StageFinal, 0.138, 0.005, 0.0048, 0.0005, 0.165, 3, record.QualityOK, "Position 3 may be decided by 5 rocks: measure it again."},
		"typed":              {record.StageFinal, 0.138, 0.005, 0.0048, 0.0005, 0.165, 1, record.QualityKeyed, "Position 3 takes a finer gauge to decide: more rocks do not help."},
		"a coarse gauge":     {record.StageFinal, 0.135, 0.005, 0.0005, 0.001, 0.165, 3, record.QualityOK, "Position 3 takes a finer gauge to decide: more rocks do not help."},
		"on the limit":       {record.StageFinal, 0.1305, 0.003, 0.0005, 0.002, 0.165, 3, record.QualityOK, "Position 3 lies on the limit: no reading decides it, moving the adjusters does."},
		"no room to move":    {record.StageFinal, 0.1305, 0.003, 0.0005, 0.002, 0.195, 3, record.QualityOK, "Position 3 lies on the limit: nothing decides it as the axle is."},
		"as it was found":    {record.StageAsFound, 0.1305, 0.003, 0.0005, 0.002, 0.165, 3, record.QualityOK, "Position 3 lies on the limit: nothing decides it as the axle is."},
		"parts not known":    {record.StageAsFound, 0.1305, 0.003, 0, 0, 0.165, 3, record.QualityOK, ""},
		"hopeless":           {record.StageFinal, 0.150, 0.025, 0.001, 0.001, 0.165, 3, record.QualityOK, "No reading with this gauge proves it inside: only a finer gauge can."},
	} {
		t.Run(name, func(t *testing.T) {
			var j journal
			for place := range 8 {
				j.add(record.FeatureBacklash, place+1, c.others, 0.001)
			}
			for i := range j {
				j[i].Stage = c.stage
			}
			p := &j[2]
			p.Value, p.U, p.OwnU, p.HandU, p.N, p.Quality = c.value, c.u, c.own, c.hand, c.rocks, c.quality
			a := Assess(sheet.Example(), j, c.stage, record.FeatureBacklash)
			assert.Equal(t, c.want, a.Decides())
			assert.Equal(t, c.want == "" && name == "decided", a.Verdict == gum.Inside)
		})
	}
}

// Of two places that are not sure the one nearer to a limit is spoken of.
func TestWhatWouldDecideTheNearest(t *testing.T) {
	var j journal
	for place := range 8 {
		j.add(record.FeatureBacklash, place+1, 0.165, 0.001)
	}
	for place, value := range map[int]float64{3: 0.1985, 5: 0.1330} { // 1.5 and 3 µm from theirs
		p := &j[place-1]
		p.Value, p.U, p.OwnU, p.HandU, p.N, p.Quality = value, 0.003, 0.0005, 0.002, 3, record.QualityOK
	}
	assert.Contains(t, Assess(sheet.Example(), j, record.StageFinal, record.FeatureBacklash).Decides(), "Position 3 ")
}
