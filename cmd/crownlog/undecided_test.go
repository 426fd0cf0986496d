package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestRoundsThatProveNothing measures rounds that no window, no uncertainty or
// no common direction lets be judged: they have one word on every surface too,
// and end like any that is done. A try of the lock that failed is outside
// whatever the window.
func TestRoundsThatProveNothing(t *testing.T) {
	const eight = ".160 .165 .158 .162 .161 .159 .163 .164"
	open := func(sheet string) string { // without a single window
		var kept []string
		for i, block := range strings.Split(sheet, "\n[") {
			if i == 0 || !strings.HasPrefix(block, "[window]") {
				kept = append(kept, block)
			}
		}
		return strings.Join(kept, "\n[")
	}
	same := func(sheet string) string { return sheet }
	replace := func(pairs ...string) func(string) string { return strings.NewReplacer(pairs...).Replace }
	for name, tt := range map[string]struct {
		sheet, later   func(string) string // what it is measured and what it is judged by; nil: the same
		stage, feature string
		typed          string
		want           expected
	}{
		"backlash without a window": {open, nil, "as-found", "backlash", eight, expected{state: complete, verdict: undecided, open: true, odds: all(undecided)}},
		"run-out without a window":  {open, nil, "bench", "runout-bore", ".015 .011 0 -.011 -.015 -.011 0 .011", expected{round: pinnedRound{whole: true}, state: complete, verdict: undecided, open: true}},
		"preload without a window":  {open, nil, "set-up", "preload-pinion", "1.3", expected{state: complete, verdict: undecided, open: true, odds: all(undecided)}},
		"oil without a window":      {open, nil, "final", "oil-fill", "2.0", expected{state: complete, verdict: undecided, open: true, odds: all(undecided)}},
		"air test without a window": {open, nil, "final", "leak-down", "0.5kPa/min", expected{state: complete, verdict: undecided, open: true, odds: all(undecided)}},
		"tries without a window":    {open, nil, "final", "engagement", "yes yes0.6 yes", expected{state: complete, verdict: undecided, open: true, odds: all(undecided)}},
		"tries without a time":      {same, nil, "final", "engagement", "yes yes yes", expected{state: complete, verdict: undecided, odds: all(undecided)}},
		"tries without a time, cut short": {same, nil, "final", "engagement", "yes yes", expected{
			round: pinnedRound{missing: []int{3}, missed: "(cycle|position) 3"}, state: partial, verdict: undecided, odds: all(undecided)}},
		"a try that failed": {same, nil, "final", "engagement", "yes0.6 nolock yes0.6", expected{state: complete, verdict: outside, odds: map[int]string{2: outside}}},
		"a try that failed, cut short": {same, nil, "final", "engagement", "yes0.6 nolock", expected{
			round: pinnedRound{missing: []int{3}, missed: "(cycle|position) 3"}, state: partial, verdict: outside, odds: map[int]string{2: outside}}},
		"a gauge nothing is known of": {replace("resolution_mm = 0.001", "", "mpe_mm = 0.003", ""), nil, "as-found", "backlash", eight,
			expected{state: complete, verdict: undecided, odds: all(undecided)}},
		"another direction than the sheet's": {same, replace(`measured = "normal"`, `measured = "transverse"`, `spec = "normal"`, `spec = "transverse"`, "pressure_angle_deg = 20", ""),
			"as-found", "backlash", eight, expected{state: complete, verdict: undecided, odds: all(undecided)}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			j := newPinnedJob(t, tt.sheet(pinnedSheet))
			j.measure(tt.stage, tt.feature, strings.Fields(tt.typed)...)
			if tt.later != nil {
				require.NoError(t, os.WriteFile(filepath.Join(j.dir, "job.toml"), []byte(tt.later(pinnedSheet)), 0o644))
			}
			j.read(tt.stage, tt.feature)
			if tt.later != nil {
				j.measured, j.replayed = j.analysed, ran{} // it was measured by another sheet
			}
			tt.want.round.stage, tt.want.round.feature = tt.stage, tt.feature
			checkSurfaces(t, j, tt.want)
		})
	}
}

// all is one verdict for every capture.
func all(word string) map[int]string {
	m := map[int]string{}
	for i := range 9 {
		m[i] = word
	}
	return m
}

// An adjuster move takes the backlash and its verdict away, from every surface.
func TestAMoveTakesTheVerdictAway(t *testing.T) {
	t.Parallel()
	j := newPinnedJob(t, pinnedSheet)
	j.measure("set-up", "backlash", strings.Fields(".160 .165 .158 .162 .161 .159 .163 .164")...)
	j.do("job", "move", j.dir, "1", "--stage", "set-up")
	j.read("set-up", "backlash")
	pin(t, func(c *recorder) {
		step, round := find(j.show, "steps", "set-up", "backlash"), find(j.rounds, "", "set-up", "backlash")
		c.says("job show", "!inside", j.step("set-up", "backlash"))
		c.equal("job show --json", undecided, text(step["verdict"]))
		c.equal("job show --json, done", false, step["done"])
		c.equal("analyse", []string{undecided}, verdictsIn(headline(j.analysed.out, "set-up")))
		c.says("analyse", "adjusters were moved", j.analysed.out)
		c.equal("analyse --json", undecided, text(round["verdict"]))
		c.equal("analyse --json, missing", []int{1, 2, 3, 4, 5, 6, 7, 8}, ints(round["missing"]))
		c.equal("analyse, exit code", 1, j.analysed.code)
		c.equal("record.csv", 0, len(j.record("backlash")))
		c.equal("export --json", undecided, text(find(j.export, "summary", "set-up", "backlash")["verdict"]))
		c.equal("export --html", []string{undecided}, j.page.verdicts)
	})
}
