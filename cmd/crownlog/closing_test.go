package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A typedStep is one command of a keyed job: a round with what is typed in it, or
// another verb.
type typedStep struct {
	stage, feature string
	lines          []string
	again          bool
	verb           []string // instead of a round, behind "job" and in front of the folder
	with           []string // behind the folder
}

func typed(stage, feature, values string) typedStep {
	return typedStep{stage: stage, feature: feature, lines: lines(values)}
}

func (s typedStep) is(stage, feature string) bool { return s.stage == stage && s.feature == feature }

// closingSheet is pinnedSheet with the pressures of an air lock, and without a
// window for the oil, which nothing proves.
var closingSheet = strings.Replace(pinnedSheet, "[[window]]\nfeature = \"oil-fill\"\nlower = 1.8\nupper = 2.2\n", "", 1) +
	"[leak_down]\ntest_pressure = 690\nmax_pressure = 830\n"

const steadyRound = ".160|.165|.158|.162|.161|.159|.163|.164"

// wholeJob is everything that closingSheet asks for before closing up, inside.
func wholeJob() []typedStep {
	return []typedStep{
		typed("as-found", "backlash", steadyRound),
		typed("bench", "runout-carrier-flange", ".015|.011|0|-.011|-.015|-.011|0|.011"),
		typed("bench", "runout-bore", ".015|.011|0|-.011|-.015|-.011|0|.011"),
		typed("bench", "bolt-torque-crown-wheel", "49|49|49|49|98|98|98|98"),
		typed("bench", "runout-back-face", ".015|.011|0|-.011|-.015|-.011|0|.011"),
		typed("set-up", "preload-pinion", "1.3"),
		typed("set-up", "backlash", steadyRound),
		typed("set-up", "pattern-drive", "0|0"),
		typed("set-up", "pattern-coast", "0|0"),
		typed("caps-torqued", "bolt-torque-caps", "85|85|85|85"),
		typed("caps-torqued", "backlash", steadyRound),
		typed("caps-torqued", "preload-total", "2.1"),
		typed("final", "backlash", steadyRound),
		typed("final", "leak-down", "690 688 kPa 10 min"),
		typed("final", "engagement", "yes 0.60|yes 0.62|yes 0.58"),
	}
}

func without(stage, feature string) func([]typedStep) []typedStep {
	return func(steps []typedStep) []typedStep {
		return slices.DeleteFunc(steps, func(s typedStep) bool { return s.is(stage, feature) })
	}
}

func instead(stage, feature, values string) func([]typedStep) []typedStep {
	return func(steps []typedStep) []typedStep {
		for i, s := range steps {
			if s.is(stage, feature) {
				steps[i].lines = lines(values)
			}
		}
		return steps
	}
}

func also(more ...typedStep) func([]typedStep) []typedStep {
	return func(steps []typedStep) []typedStep { return append(steps, more...) }
}

func again(stage, feature, values string) typedStep {
	s := typed(stage, feature, values)
	s.again = true
	return s
}

var moved = typedStep{verb: []string{"move"}, with: []string{"--stage", "caps-torqued", "--", "1"}}

// mustNotClose are jobs that lack one thing each, with the hold point that has to
// say so and what the headline has to.
var mustNotClose = []struct {
	name, hold, headline string
	change               func([]typedStep) []typedStep
}{
	{"no wheel bolt pulled", "bench-bolt-torque-crown-wheel", "NOT MEASURED: crown wheel bolts, closing up", without("bench", "bolt-torque-crown-wheel")},
	{"one wheel bolt short of a pass", "bench-bolt-torque-crown-wheel", "NOT MEASURED: crown wheel bolts, closing up", instead("bench", "bolt-torque-crown-wheel", "49|49|49|49|98|98|98")},
	{"a wheel bolt over its torque", "bench-bolt-torque-crown-wheel", "OUTSIDE .*crown wheel bolts", instead("bench", "bolt-torque-crown-wheel", "49|49|49|49|98|112|98|98")},
	{"no cap bolt pulled", "caps-torqued-bolt-torque-caps", "NOT MEASURED: bearing cap bolts, closing up", without("caps-torqued", "bolt-torque-caps")},
	{"three cap bolts of four", "caps-torqued-bolt-torque-caps", "NOT MEASURED: bearing cap bolts, closing up", instead("caps-torqued", "bolt-torque-caps", "85|85|85")},
	{"back face outside, and gone on", "back-face", "OUTSIDE .*run-out of the back face", instead("bench", "runout-back-face", ".075|.053|0|-.053|-.075|-.053|0|.053")},
	{"no backlash after the caps", "caps-torqued-backlash", `NOT MEASURED: backlash \(caps-torqued\), closing up`, without("caps-torqued", "backlash")},
	{"no backlash at the end", "backlash-recheck", `NOT MEASURED: backlash \(final\), closing up`, without("final", "backlash")},
	{"backlash outside at the end", "backlash-recheck", "OUTSIDE .*backlash", instead("final", "backlash", ".160|.215|.158|.162|.161|.159|.163|.164")},
	{"total preload of 6.0 in 1.7 to 2.5", "caps-torqued-preload-total", "OUTSIDE .*total preload", instead("caps-torqued", "preload-total", "6.0")},
	{"no total preload", "caps-torqued-preload-total", "NOT MEASURED: total preload, closing up", without("caps-torqued", "preload-total")},
	{"no pattern", "set-up-pattern-drive", "NOT MEASURED: contact pattern, closing up", func(steps []typedStep) []typedStep {
		return without("set-up", "pattern-coast")(without("set-up", "pattern-drive")(steps))
	}},
	{"one flank", "set-up-pattern-coast", "NOT MEASURED: contact pattern, closing up", without("set-up", "pattern-coast")},
	{"a pattern that says stop", "set-up-pattern-drive", "OUTSIDE .*contact pattern", func(steps []typedStep) []typedStep {
		return instead("set-up", "pattern-coast", "0|.6")(instead("set-up", "pattern-drive", "0|.6")(steps))
	}},
	{"lock never tried", "final-engagement", "NOT MEASURED: engagement of the lock, closing up", without("final", "engagement")},
	{"lock tried and failed", "final-engagement", "OUTSIDE .*engagement of the lock", instead("final", "engagement", "no lock|no lock|no lock")},
	{"no air test", "air-test", "NOT MEASURED: air test, closing up", without("final", "leak-down")},
	{"air test of next to nothing", "air-test", "Not decided yet: .*air test", instead("final", "leak-down", "20 19.99 kPa 10 min")},
	{"a rate without its pressure", "air-test", "Not decided yet: .*air test", instead("final", "leak-down", "0.2 kPa/min")},
	{"air lost", "air-test", "OUTSIDE .*air test", instead("final", "leak-down", "690 640 kPa 10 min")},
	{"air test of the lock that came out", "air-test", "NOT MEASURED: air test, closing up", func(steps []typedStep) []typedStep {
		steps = without("final", "leak-down")(steps)
		return append(steps, typed("as-found", "leak-down", "690 688 kPa 10 min"))
	}},
	{"caps torqued after the last backlash", "backlash-recheck", `NOT MEASURED: backlash \(caps-torqued\), total preload, backlash \(final\), air test, engagement of the lock, closing up`,
		also(again("caps-torqued", "bolt-torque-caps", "85|85|85|85"))},
	{"wheel bolted anew after it was set up", "back-face", "NOT MEASURED: run-out of the back face, backlash", also(again("bench", "bolt-torque-crown-wheel", "49|49|49|49|98|98|98|98"))},
	{"moved after the caps", "caps-torqued-bolt-torque-caps", `NOT MEASURED: backlash \(set-up\), contact pattern, bearing cap bolts, backlash \(caps-torqued\), total preload, backlash \(final\), closing up`,
		also(moved)},
	{"moved, caps not torqued again", "caps-torqued-bolt-torque-caps", `NOT MEASURED: bearing cap bolts, total preload, closing up`,
		also(moved, typed("set-up", "backlash", steadyRound), typed("set-up", "pattern-drive", "0|0"), typed("set-up", "pattern-coast", "0|0"),
			typed("caps-torqued", "backlash", steadyRound), typed("final", "backlash", steadyRound))},
}

// play types a job, past the hold points in front of the early steps.
func (j *pinnedJob) play(steps []typedStep) {
	j.t.Helper()
	for _, s := range steps {
		if s.verb != nil {
			j.do(slices.Concat([]string{"job"}, s.verb, []string{j.dir}, s.with)...)
			continue
		}
		args := []string{"measure", j.dir, "--keyed", "--stage", s.stage, "--feature", s.feature}
		if s.again {
			args = append(args, "--again")
		}
		r := crownlog(j.t, s.lines, args...)
		if r.code == exitUsage { // held: the fitter goes on all the same
			r = crownlog(j.t, s.lines, append(args, "--override", "wanted to go on")...)
		}
		require.LessOrEqual(j.t, r.code, 1, r.err)
	}
}

// A standing is what the surfaces of a job say of it.
type standing struct {
	headline string   // of job show
	lacking  []string // not measured, by its headline
	holds    map[string]map[string]any
}

// stands reads every surface and wants them to say the same.
func (j *pinnedJob) stands() standing {
	j.t.Helper()
	j.read("as-found", "backlash")
	show, export := j.show.(map[string]any), j.export.(map[string]any)
	at := standing{headline: text(show["headline"]), holds: map[string]map[string]any{}}
	assert.Contains(j.t, j.shown, at.headline+"\n", "job show")
	assert.Equal(j.t, at.headline, export["headline"], "export --json")
	for sentence := range strings.SplitSeq(at.headline, ". ") {
		assert.Contains(j.t, j.page.text, sentence, "the report")
	}
	if m := regexp.MustCompile(`NOT MEASURED: ([^.]*)`).FindStringSubmatch(at.headline); m != nil {
		at.lacking = strings.Split(m[1], ", ")
	}
	var rows []string
	for _, row := range j.record("not-measured") {
		rows = append(rows, row["note"])
	}
	assert.Equal(j.t, strings.Join(at.lacking, ", "), strings.Join(rows, ""), "record.csv")
	list, _ := export["not_measured"].([]any)
	assert.Equal(j.t, len(at.lacking) == 0, len(list) == 0, "export --json, not_measured")
	for _, h := range show["hold_points"].([]any) {
		at.holds[text(h.(map[string]any)["name"])] = h.(map[string]any)
	}
	return at
}

// TestJobsThatMustNotClose: each lacks one thing, or has it in the wrong order.
// No surface calls it whole, and closing up is refused for that reason.
func TestJobsThatMustNotClose(t *testing.T) {
	if testing.Short() {
		t.Skip("two dozen whole jobs")
	}
	for _, tt := range mustNotClose {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			j := newPinnedJob(t, closingSheet)
			j.play(tt.change(wholeJob()))
			at := j.stands()
			assert.Regexp(t, tt.headline, at.headline)
			if hold := at.holds[tt.hold]; assert.NotNil(t, hold, tt.hold) && tt.hold != "back-face" {
				assert.Equal(t, true, hold["blocking"], hold["reason"])
			}
			closed := crownlog(t, lines("yes|yes|yes"), "measure", j.dir, "--keyed", "--stage", "final", "--feature", "close-up")
			if tt.name == "back face outside, and gone on" { // for a reason, which stays in sight
				assert.Contains(t, at.headline, "SKIPPED: run-out of the back face")
				return
			}
			assert.Equal(t, exitUsage, closed.code, closed.out)
			assert.Contains(t, closed.err, "Do not ")
			short := crownlog(t, nil, "job", "skip", j.dir, tt.hold, "x")
			assert.Equal(t, exitUsage, short.code, "one letter is no reason")
			j.do("job", "skip", j.dir, tt.hold, "agreed with the owner")
			at = j.stands()
			assert.Contains(t, at.headline, "SKIPPED: ")
			assert.Equal(t, "agreed with the owner", at.holds[tt.hold]["skipped"])
			assert.Contains(t, j.shown, "SKIPPED "+tt.hold+": agreed with the owner")
			assert.NotContains(t, j.page.text, "passed")
			assert.Contains(t, j.page.text, "SKIPPED: "+tt.hold+": agreed with the owner")
		})
	}
}

// TestAJobThatMustClose has all of it, in order.
func TestAJobThatMustClose(t *testing.T) {
	t.Parallel()
	j := newPinnedJob(t, closingSheet)
	j.play(wholeJob())
	at := j.stands()
	assert.Equal(t, []string{"closing up"}, at.lacking)
	j.play([]typedStep{typed("final", "close-up", "yes|yes|yes"), typed("final", "oil-fill", "2.0")})
	assert.Empty(t, j.record("override"), "nothing was in the way")
	at = j.stands()
	assert.NotContains(t, at.headline, "NOT MEASURED")
	for name, h := range at.holds {
		assert.Equal(t, false, h["blocking"], name)
	}
	assert.Nil(t, j.show.(map[string]any)["next"])

	j.play([]typedStep{again("final", "backlash", steadyRound)})
	assert.Equal(t, []string{"closing up"}, j.stands().lacking, "it was opened again")
	assert.Empty(t, j.record("oil-fill"), "and the oil is out")
}

// TestEveryFailureThatWasRepeatedStaysInSight: each step fails first, and is
// measured again until it is inside.
func TestEveryFailureThatWasRepeatedStaysInSight(t *testing.T) {
	t.Parallel()
	j := newPinnedJob(t, closingSheet)
	failing := map[string]struct{ values, said string }{
		"bench bolt-torque-crown-wheel": {"49|49|49|49|98|112|98|98", "bolt 3: 112.0 N·m was outside; repeated"},
		"bench runout-back-face":        {".075|.053|0|-.053|-.075|-.053|0|.053", "0.150 mm is outside the entered window; repeated"},
		"set-up pattern-coast":          {"0|.6", ""}, // no stop while the drive flank is good
		"caps-torqued bolt-torque-caps": {"85|99|85|85", "bolt 3: 99.0 N·m was outside; repeated"},
		"caps-torqued backlash":         {".160|.215|.158|.162|.161|.159|.163|.164", "position 2: 0.215 mm was outside; repeated"},
		"caps-torqued preload-total":    {"6.0", "6.0 N·m was outside; repeated"},
		"final leak-down":               {"690 640 kPa 10 min", "5.00 kPa/min was outside; repeated"},
		"final engagement":              {"yes 0.60|no free|no lock", "cycle 3: did not lock; repeated"},
	}
	var steps []typedStep
	for _, s := range wholeJob() {
		if first, ok := failing[s.stage+" "+s.feature]; ok {
			steps = append(steps, typed(s.stage, s.feature, first.values))
			s.again = true
		}
		steps = append(steps, s)
	}
	j.play(steps)
	at := j.stands()
	assert.Contains(t, at.headline, "FAILED BEFORE AND REPEATED: crown wheel bolts, run-out of the back face, bearing cap bolts, backlash (caps-torqued), total preload, air test, engagement of the lock")
	var rows, texts []string
	for _, row := range j.record("repeated") {
		rows = append(rows, row["note"])
	}
	for _, r := range j.export.(map[string]any)["repeated"].([]any) {
		texts = append(texts, text(r.(map[string]any)["text"]))
	}
	said := 0
	for step, first := range failing {
		if first.said == "" {
			continue
		}
		said++
		assert.Contains(t, strings.ReplaceAll(j.page.text, "\u00a0", " "), first.said, step)
		assert.Contains(t, j.shown, first.said, step)
		assert.Contains(t, strings.Join(rows, "\n"), first.said, step)
		assert.Contains(t, texts, first.said, step)
	}
	assert.Len(t, texts, said+1, "and that cycle 2 did not free")
}

// TestHeadlines keeps the headline of an open, a skipped, a repeated and a whole
// job word for word.
func TestHeadlines(t *testing.T) {
	t.Parallel()
	closing := []typedStep{typed("final", "close-up", "yes|yes|yes"), typed("final", "oil-fill", "2.0")}
	skip := typedStep{verb: []string{"skip"}, with: []string{"final-engagement", "no air in this shed"}}
	var got strings.Builder
	for _, job := range []struct {
		name  string
		steps []typedStep
	}{
		{"nothing", nil},
		{"open", wholeJob()[:3]},
		{"skipped", slices.Concat(without("final", "engagement")(wholeJob()), []typedStep{skip}, closing)},
		{"repeated", slices.Concat(wholeJob()[:11], []typedStep{typed("caps-torqued", "preload-total", "6.0"), again("caps-torqued", "preload-total", "2.1")}, wholeJob()[12:], closing)},
		{"outside", slices.Concat(instead("caps-torqued", "preload-total", "6.0")(wholeJob()))},
		{"whole", slices.Concat(wholeJob(), closing)},
	} {
		j := newPinnedJob(t, closingSheet)
		j.play(job.steps)
		got.WriteString(job.name + ": " + text(parseJSON(t, j.do("job", "show", j.dir, "--json")).(map[string]any)["headline"]) + "\n")
	}
	golden := filepath.Join("testdata", "headlines.txt")
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(got.String()), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), got.String())
}
