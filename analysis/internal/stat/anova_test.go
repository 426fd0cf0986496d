package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// An anova compares the spread between groups with the spread within them.
type anova struct {
	BetweenSS, WithinSS   float64
	BetweenDoF, WithinDoF int
	F, P                  float64 // P: probability of such an F when the groups do not differ
	WithinSD              float64
	BetweenSD             float64 // of the group means beyond the spread within; 0 when F < 1
}

// oneWayANOVA splits the scatter of readings into that between groups (the
// positions of a round) and that within them (the rocks). It returns ErrTooFew
// for fewer than two groups, an empty one, or no group with two values.
// Source: JCGM 100:2008, H.5.
func oneWayANOVA(groups ...[]float64) (anova, error) {
	if len(groups) < 2 {
		return anova{}, ErrTooFew
	}
	var all []float64
	squares := 0.0
	for _, g := range groups {
		if len(g) == 0 {
			return anova{}, ErrTooFew
		}
		all = append(all, g...)
		squares += float64(len(g)) * float64(len(g))
	}
	n := float64(len(all))
	a := anova{BetweenDoF: len(groups) - 1, WithinDoF: len(all) - len(groups)}
	if a.WithinDoF < 1 {
		return anova{}, ErrTooFew
	}
	grand := Mean(all)
	for _, g := range groups {
		m := Mean(g)
		a.BetweenSS += float64(len(g)) * (m - grand) * (m - grand)
		for _, v := range g {
			a.WithinSS += (v - m) * (v - m)
		}
	}
	between := a.BetweenSS / float64(a.BetweenDoF)
	within := a.WithinSS / float64(a.WithinDoF)
	a.F = between / within
	a.P = distuv.F{D1: float64(a.BetweenDoF), D2: float64(a.WithinDoF)}.Survival(a.F)
	a.WithinSD = math.Sqrt(within)
	each := (n - squares/n) / float64(a.BetweenDoF)
	a.BetweenSD = math.Sqrt(math.Max(0, (between-within)/each))
	return a, nil
}

// levene tests whether groups scatter alike: whether the rocks at one position
// repeat as well as those at the others. It uses deviations from the group
// medians (Brown and Forsythe), which a few wild values do not upset, and
// returns W and the probability of such a W when they do. Errors are those of
// oneWayANOVA.
// Source: Brown and Forsythe 1974; NIST/SEMATECH e-Handbook 1.3.5.10.
func levene(groups ...[]float64) (w, p float64, err error) {
	deviations := make([][]float64, len(groups))
	for i, g := range groups {
		m := Median(g)
		for _, v := range g {
			deviations[i] = append(deviations[i], math.Abs(v-m))
		}
	}
	a, err := oneWayANOVA(deviations...)
	return a.F, a.P, err
}

// bartlett tests whether normal groups scatter alike and returns T and the
// probability of such a T when they do. Every group needs two values and some
// scatter, else ErrTooFew.
// Source: Bartlett 1937; NIST/SEMATECH e-Handbook 1.3.5.7.
func bartlett(groups ...[]float64) (t, p float64, err error) {
	if len(groups) < 2 {
		return 0, 0, ErrTooFew
	}
	pooled, dof, logs, inverse := 0.0, 0.0, 0.0, 0.0
	for _, g := range groups {
		nu, sd := float64(len(g)-1), StdDev(g)
		if !(sd > 0) {
			return 0, 0, ErrTooFew
		}
		pooled += nu * sd * sd
		dof += nu
		logs += nu * math.Log(sd*sd)
		inverse += 1 / nu
	}
	k := float64(len(groups))
	t = (dof*math.Log(pooled/dof) - logs) / (1 + (inverse-1/dof)/(3*(k-1)))
	return t, distuv.ChiSquared{K: k - 1}.Survival(t), nil
}
