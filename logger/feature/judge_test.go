package feature

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// One reading that stands out is neither left out nor believed: a slip of the pen
// is gone when the position is read again, a bump is there again. The very same
// reading, undone and redone, proves nothing.
func TestPlaceThatStandsOut(t *testing.T) {
	const face = record.FeatureRunoutBackFace
	again := func(supersedes int, value float64, minutes int) func(j *journal) {
		return func(j *journal) {
			j.add(face, 8, value, 0.002, func(c *record.Capture) {
				c.Supersedes, c.Time = supersedes, testTime.Add(time.Duration(minutes)*time.Minute)
			})
		}
	}
	undo := func(id int) func(j *journal) {
		return func(j *journal) {
			c := (*j)[id-1]
			c.ID, c.Supersedes, c.Quality = len(*j)+1, id, record.QualityRejected
			*j = append(*j, c)
		}
	}
	for name, tt := range map[string]struct {
		then []func(j *journal)
		want gum.Verdict
	}{
		"as read":                            {nil, gum.NotDecided},
		"again the same":                     {[]func(j *journal){again(8, 0.150, 1)}, gum.Outside},
		"again within both uncertainties":    {[]func(j *journal){again(8, 0.1552, 1)}, gum.Outside}, // 2 √(0.002² + 0.002²) = 0.00566
		"again beyond both uncertainties":    {[]func(j *journal){again(8, 0.1558, 1)}, gum.NotDecided},
		"again with the others":              {[]func(j *journal){again(8, 0.004, 1)}, gum.Inside},
		"undone and read anew":               {[]func(j *journal){undo(8), again(9, 0.150, 1)}, gum.Outside},
		"undone and redone":                  {[]func(j *journal){undo(8), again(9, 0.150, 0)}, gum.NotDecided},
		"undone and redone twice":            {[]func(j *journal){undo(8), again(9, 0.150, 0), undo(10), again(11, 0.150, 0)}, gum.NotDecided},
		"read twice, the second redone":      {[]func(j *journal){again(8, 0.151, 1), undo(9), again(10, 0.151, 1)}, gum.Outside},
		"undone and corrected at that time":  {[]func(j *journal){undo(8), again(9, 0.151, 0)}, gum.Outside},
		"again at the same time, not undone": {[]func(j *journal){again(8, 0.150, 0)}, gum.Outside},
	} {
		t.Run(name, func(t *testing.T) {
			j := round(face, 0.002, 0, 0.004, 0.006, 0.002, 0.001, 0.003, 0.005, 0.150)
			for _, then := range tt.then {
				then(&j)
			}
			a := Assess(sheet.Example(), j, record.StageFinal, face)
			assert.Equal(t, tt.want, a.Verdict)
			assert.Equal(t, tt.want == gum.NotDecided, strings.Contains(a.Reason(), "as read; measure position"))
		})
	}
}

// TestDecide: a capture by itself.
func TestDecide(t *testing.T) {
	oneOf := func(j journal) record.Capture { return j[0] }
	other := oneOf(round(record.FeatureBacklash, 0.002, 0.16))
	other.RadiusMM = nan
	for name, tt := range map[string]struct {
		c      record.Capture
		want   gum.Verdict
		why    string
		judged bool
	}{
		"backlash inside":       {oneOf(round(record.FeatureBacklash, 0.002, 0.16)), gum.Inside, "", true},
		"backlash too close":    {oneOf(round(record.FeatureBacklash, 0.002, 0.199)), gum.TooClose, "", true},
		"backlash outside":      {oneOf(round(record.FeatureBacklash, 0.002, 0.21)), gum.Outside, "", true},
		"read in another way":   {other, gum.NotDecided, "measured normal at an unknown radius, where job.toml now says normal at 106 mm: cannot be converted", true},
		"uncertainty unknown":   {oneOf(round(record.FeatureBacklash, nan, 0.16)), gum.NotDecided, "as read inside, uncertainty unknown", true},
		"a point of a run-out":  {oneOf(round(record.FeatureRunoutBackFace, 0.002, 0.5)), gum.NotDecided, "", false},
		"a turn":                {oneOf(turnOf(0.5, 0.002)), gum.Outside, "", true},
		"an early pull":         {oneOf(onePass(1, 42)), gum.NotDecided, "", false},
		"a last pull":           {oneOf(onePass(2, 42)), gum.Outside, "", true},
		"a try that failed":     {oneOf(failed(1, qualityNoLock)), gum.Outside, "", true},
		"a try that worked":     {oneOf(tried(0.5)), gum.NotDecided, "no window to judge by", true},
		"a place of a pattern":  {oneOf(round(record.FeaturePatternDrive, nan, 0)), gum.NotDecided, "", false},
		"a note":                {record.Blank(record.StageFinal, record.FeatureNote, testTime), gum.NotDecided, "", false},
		"a volume, not limited": {oneOf(whole(record.FeatureOilFill, 2, nan)), gum.NotDecided, "no window to judge by", true},
	} {
		t.Run(name, func(t *testing.T) {
			v, why, judged := NewJudge(sheet.Example(), tt.c.Feature).Decide(tt.c)
			assert.Equal(t, tt.want, v)
			assert.Equal(t, tt.why, why)
			assert.Equal(t, tt.judged, judged)
		})
	}
}

// A capture of before its parts were kept has what it scatters by for its own part.
func TestOwnPartOfACapture(t *testing.T) {
	for _, c := range []struct {
		own, scatter float64
		n            int
		want         float64
	}{{0, 0.002, 4, 0.001}, {0.0005, 0.002, 4, 0.0005}, {0, 0.002, 0, 0}, {0, 0, 4, 0}} {
		p := Point(record.Capture{Position: 2, Value: 0.15, U: 0.003, OwnU: c.own, Repeatability: c.scatter, N: c.n})
		assert.InDelta(t, c.want, p.Random, 1e-12, "%+v", c)
	}
}
