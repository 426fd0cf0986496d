package stat

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"crownlog/analysis/internal/check"
)

// Source: NIST Statistical Reference Datasets, univariate summary statistics:
// certified mean, standard deviation and lag-1 autocorrelation (confirmed). The
// digits demanded are what any float64 program can reach.
func TestStRDUnivariate(t *testing.T) {
	demanded := map[string][3]float64{ // mean, sd, lag-1
		"NumAcc3": {14, 9.4, 12}, "NumAcc4": {14, 8.2, 10.9}, "Mavro": {14, 13, 13.6}, "Michelso": {14, 13.7, 13.3}, "PiDigits": {14, 14, 12.9},
	}
	for _, row := range check.Rows(t, "strd/certified.csv")[1:] {
		name := row[0]
		t.Run(name, func(t *testing.T) {
			x := check.Numbers(t, check.Column(t, "strd/"+name+".txt"))
			require.Len(t, x, int(check.Number(t, row[1])))
			got := [3]float64{Mean(x), StdDev(x), Lag1(x)}
			want, ok := demanded[name]
			if !ok {
				want = [3]float64{14, 14, 13.5}
			}
			var agreed [3]float64
			for i := range got {
				agreed[i] = check.Digits(got[i], check.Number(t, row[2+i]))
				assert.GreaterOrEqual(t, agreed[i], want[i], "column %d: %.17g", i, got[i])
			}
			t.Logf("digits agreed: mean %.1f, sd %.1f, lag-1 %.1f", agreed[0], agreed[1], agreed[2])
		})
	}
}

// The decimals of NumAcc3 and NumAcc4 are not binary fractions. As counts of
// tenths, as a gauge sends them, everything is exact. Source: NIST StRD.
func TestStRDCountsAreExact(t *testing.T) {
	for _, name := range []string{"NumAcc2", "NumAcc3", "NumAcc4"} {
		words := check.Column(t, "strd/"+name+".txt")
		for i, w := range words {
			words[i] = strings.Replace(w, ".", "", 1)
		}
		x := check.Numbers(t, words)
		assert.Equal(t, 0.1, StdDev(x)/10, name)
		assert.Equal(t, -0.999, Lag1(x), name)
	}
	tenths := check.Numbers(t, check.Column(t, "strd/NumAcc4.txt"))
	assert.InDelta(t, 0.10000000056, StdDev(tenths), 5e-12, "the best that parsed decimals allow")
	assert.Equal(t, 10000000.2, Mean(tenths))
	onePass := 0.0
	for _, v := range tenths {
		onePass += v * v
	}
	n := float64(len(tenths))
	assert.Negative(t, (onePass-n*Mean(tenths)*Mean(tenths))/(n-1), "the formula that must not be used")
}

// lineOf fits y = b0 + b1·x and returns the uncertainties too, and the scatter about it.
func lineOf(t *testing.T, x, y []float64) (b, u []float64, sd float64) {
	columns := append(Sinusoids(x), x)
	b, u, rest, ok := Weighted(columns, y, columns[0], math.Inf(1))
	require.True(t, ok)
	sd = floats.Norm(rest, 2) / math.Sqrt(float64(len(x)-2))
	floats.Scale(sd, u)
	return b, u, sd
}

// Source: NIST StRD, linear regression, Norris (confirmed).
func TestStRDNorris(t *testing.T) {
	var x, y []float64
	for _, row := range check.Rows(t, "strd/Norris.csv")[1:] {
		y, x = append(y, check.Number(t, row[0])), append(x, check.Number(t, row[1]))
	}
	b, u, sd := lineOf(t, x, y)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"intercept", b[0], -0.262323073774029}, {"slope", b[1], 1.00211681802045},
		{"u(intercept)", u[0], 0.232818234301152}, {"u(slope)", u[1], 0.429796848199937e-03},
		{"residual sd", sd, 0.884796396144373},
	} {
		t.Logf("%s: %.1f digits", c.name, check.Digits(c.got, c.want))
		assert.GreaterOrEqual(t, check.Digits(c.got, c.want), 12.0, c.name)
	}
}

// Source: JCGM 100:2008, H.3, thermometer calibration (confirmed).
func TestGUMCalibrationLine(t *testing.T) {
	temp := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	correction := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	for i := range temp {
		temp[i] -= 20
	}
	b, u, sd := lineOf(t, temp, correction)
	assert.InDelta(t, -0.1712, b[0], 5e-5)
	assert.InDelta(t, 0.0029, u[0], 5e-5)
	assert.InDelta(t, 0.00218, b[1], 5e-6)
	assert.InDelta(t, 0.00067, u[1], 5e-6)
	assert.InDelta(t, 0.0035, sd, 5e-5)
	floats.AddConst(-10, temp)
	b, u, _ = lineOf(t, temp, correction)
	assert.InDelta(t, -0.1494, b[0], 5e-5, "at 30 °C")
	assert.InDelta(t, 0.0041, u[0], 5e-5)
}

func groupsOf(t *testing.T, name string, group, value int) [][]float64 {
	index := map[string]int{}
	var groups [][]float64
	for _, row := range check.Rows(t, name)[1:] {
		i, ok := index[row[group]]
		if !ok {
			i = len(groups)
			index[row[group]] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], check.Number(t, row[value]))
	}
	return groups
}

// Source: NIST StRD, one-way analysis of variance, SiRstv (confirmed).
func TestStRDSiRstv(t *testing.T) {
	a, err := oneWayANOVA(groupsOf(t, "strd/SiRstv.csv", 0, 1)...)
	require.NoError(t, err)
	t.Logf("F: %.1f digits", check.Digits(a.F, 1.18046237440255))
	assert.GreaterOrEqual(t, check.Digits(a.F, 1.18046237440255), 11.0)
	assert.InDelta(t, 5.11462616e-02, a.BetweenSS, 1e-12)
	assert.InDelta(t, 2.16636560e-01, a.WithinSS, 1e-12)
	assert.Equal(t, 4, a.BetweenDoF)
	assert.Equal(t, 20, a.WithinDoF)
	assert.InDelta(t, 1.04076068334656e-01, a.WithinSD, 1e-12)
}

// Source: NIST/SEMATECH e-Handbook 1.3.5.4, 1.3.5.7 and 1.3.5.10 (GEAR.DAT).
// The data are confirmed; the printed results carry single-precision rounding
// and were reproduced, so 1e-5 relative. The digits here are the recomputed
// ones.
func TestHandbookGear(t *testing.T) {
	groups := groupsOf(t, "handbook/GEAR.csv", 1, 0)
	require.Len(t, groups, 10)
	a, err := oneWayANOVA(groups...)
	require.NoError(t, err)
	assert.InEpsilon(t, 2.29691241, a.F, 1e-8)
	assert.InDelta(t, 1-0.97733918072, a.P, 1e-10)
	assert.InDelta(t, 0.002138639235, a.BetweenSD, 1e-11)
	b, p, err := bartlett(groups...)
	require.NoError(t, err)
	assert.InEpsilon(t, 20.785873, b, 1e-7)
	assert.InDelta(t, 0.013635863, p, 1e-9)
	w, _, err := levene(groups...)
	require.NoError(t, err)
	assert.InEpsilon(t, 1.705918, w, 1e-6)
	assert.Greater(t, math.Abs(w-2.159460), 0.1, "the form with means")
}

// Source: JCGM 100:2008, H.5 (confirmed data; F printed as 2.25 comes from
// rounded inputs, unrounded 2.2615).
func TestGUMDayEffect(t *testing.T) {
	means := []float64{172, 116, 13, 144, 106, 31, 60, 125, 163, 41}
	sds := []float64{60, 77, 111, 101, 67, 93, 80, 73, 88, 86}
	var groups [][]float64
	for i, m := range means { // five readings with just this mean and deviation
		d := sds[i] * math.Sqrt(4.0/10)
		groups = append(groups, []float64{m - 2*d, m - d, m, m + d, m + 2*d})
	}
	a, err := oneWayANOVA(groups...)
	require.NoError(t, err)
	assert.InDelta(t, 2.26151926997, a.F, 1e-9)
	assert.InDelta(t, 84.8869836901, a.WithinSD, 1e-8)
	assert.InDelta(t, 42.6386105673, a.BetweenSD, 1e-8)
}

func TestTooFewForStatistics(t *testing.T) {
	assert.True(t, math.IsNaN(Mean(nil)))
	assert.True(t, math.IsNaN(StdDev([]float64{1})))
	assert.True(t, math.IsNaN(Median(nil)))
	assert.True(t, math.IsNaN(Lag1([]float64{2, 2, 2})))
	for _, g := range [][][]float64{nil, {{1, 2}}, {{1}, {2}}, {{1, 2}, nil}} {
		_, err := oneWayANOVA(g...)
		assert.ErrorIs(t, err, ErrTooFew)
	}
	_, _, err := bartlett([]float64{1, 1}, []float64{1, 2})
	assert.ErrorIs(t, err, ErrTooFew)
}

func TestMedianOfFour(t *testing.T) {
	x := []float64{4, 1, 3, 2}
	assert.Equal(t, 2.5, Median(x))
	assert.Equal(t, []float64{4, 1, 3, 2}, x, "the caller's order stays")
	assert.Equal(t, 1.75, Quantile(x, 0.25))
}

func TestStatisticsShiftAndScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1, 1), 2, 40).Draw(t, "x")
		shift, scale := rapid.Float64Range(-1e3, 1e3).Draw(t, "shift"), rapid.Float64Range(0.1, 100).Draw(t, "scale")
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = shift + scale*v
		}
		assert.InDelta(t, shift+scale*Mean(x), Mean(y), 1e-9)
		assert.InDelta(t, scale*StdDev(x), StdDev(y), 1e-9)
		assert.InDelta(t, shift+scale*Median(x), Median(y), 1e-9)
	})
}
