package main

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The states a round can be in, and where its values lie.
const (
	none, partial, complete = "none", "partial", "complete"

	inside, tooClose, outside, undecided = "inside", "too close to call", "outside", "not decided"
)

// A pinnedRound is a feature as it is typed, with the verdicts worked out by
// hand from the windows of pinnedSheet.
type pinnedRound struct {
	stage, feature string
	first          []string            // typed for the other flank before
	lines          map[string][]string // typed, by where the values lie
	want           map[string]string   // verdict of the complete round
	wantPartial    map[string]string   // verdict of the round cut short; nil: not decided
	part           int                 // lines of the round cut short; 0: it has one value, there is no such round
	missing        []int               // by then
	missed         string              // how a text names them
	early          int                 // captures before those that are judged
	whole          bool                // its captures are not judged one by one
	odd            int                 // position whose value is not inside
}

func lines(s string) []string { return strings.Split(s, "|") }

func three(in, close, out string) map[string][]string {
	return map[string][]string{inside: lines(in), tooClose: lines(close), outside: lines(out)}
}

func spelled(in, close, out string) map[string]string {
	return map[string]string{inside: in, tooClose: close, outside: out}
}

var plainly = spelled(inside, tooClose, outside)

// proven is a round cut short: what is beyond a limit stays so whatever follows.
var proven = spelled(undecided, undecided, outside)

// pinnedRounds is every feature. The dial counts 0.001 mm and is good to
// 0.003: u is 0.0018 to 0.0020 mm, so that 0.0033 mm on either side of a limit
// is too close to call. The wrenches are good to 1 %: u is 0.58 % of the value,
// the doubt 0.95 %. Run-outs are a sine, of which the movement is known exactly.
var pinnedRounds = []pinnedRound{
	{stage: "as-found", feature: "backlash", want: plainly, wantPartial: proven, part: 5, odd: 2,
		missing: []int{6, 7, 8}, missed: "positions 6, 7 and 8",
		lines: three(".160|.165|.158|.162|.161|.159|.163|.164", ".160|.199|.158|.162|.161|.159|.163|.164", ".160|.215|.158|.162|.161|.159|.163|.164")}, // 0.13 to 0.20
	sine("runout-carrier-flange"), sine("runout-bore"), sine("runout-back-face"),
	{stage: "bench", feature: "bolt-torque-crown-wheel", want: plainly, wantPartial: proven, part: 6, odd: 3, early: 4,
		missing: []int{2, 4}, missed: "bolts 2 and 4|Bolt 2: no torque on record. *Bolt 4: no torque on record", // the star is 1, 3, 2, 4
		lines: three("49|49|49|49|98|98|98|98", "49|49|49|49|98|107.3|98|98", "49|49|49|49|98|112|98|98")}, // 98 ± 10 %
	{stage: "caps-torqued", feature: "bolt-torque-caps", want: plainly, wantPartial: proven, part: 3, odd: 3,
		missing: []int{4}, missed: "[Bb]olt 4",
		lines: three("85|85|85|85", "85|93|85|85", "85|99|85|85")}, // 85 ± 10 %
	{stage: "set-up", feature: "preload-pinion", want: plainly, lines: three("1.3", "1.595", "1.9")},                                      // 1.0 to 1.6
	{stage: "caps-torqued", feature: "preload-total", want: plainly, lines: three("2.1", "2.49", "2.8")},                                  // 1.7 to 2.5
	{stage: "final", feature: "leak-down", want: plainly, lines: three("690 688 kPa 10 min", "690 660 kPa 10 min", "690 640 kPa 10 min")}, // at most 3
	{stage: "final", feature: "oil-fill", want: spelled(undecided, undecided, undecided), lines: three("2.0", "2.2", "3.0")},              // 1.8 to 2.2; its uncertainty is not known
	{stage: "final", feature: "engagement", want: plainly, wantPartial: proven, part: 2, odd: 2, missing: []int{3}, missed: "(cycle|position) 3", // at most 1 s; u is 0.1
		lines: three("yes 0.60|yes 0.62|yes 0.58", "yes 0.60|yes 0.95|yes 0.58", "yes 0.60|yes 1.50|yes 0.58")},
	{stage: "final", feature: "close-up", want: spelled(undecided, undecided, undecided), part: 2, missing: []int{3}, missed: "(part|position) 3", whole: true,
		first: []string{}, lines: three("yes|yes|yes", "yes|yes|yes", "y|Y|YES")}, // seen by eye, which decides nothing
	{stage: "set-up", feature: "pattern-drive", want: spelled(inside, undecided, outside), part: 1, missing: []int{2}, missed: "position 2", whole: true,
		first: lines("0|0|-.5|0|0|.6"), lines: three("0|0", "-.5|0", "0|.6")}, // accept; both at the toe: a move; both at the face, pinion locked: stop
	{stage: "set-up", feature: "pattern-coast", want: spelled(inside, undecided, outside), part: 1, missing: []int{2}, missed: "position 2", whole: true,
		first: lines("0|0|-.5|0|0|.6"), lines: three("0|0", "-.5|0", "0|.6")},
}

// sine is a run-out of eight places with 0.030, 0.080 and 0.150 mm of full
// movement, of which 0.080 is allowed. What is beyond the limit before all places are there stays so.
func sine(feature string) pinnedRound {
	return pinnedRound{stage: "bench", feature: feature, want: plainly, wantPartial: proven, part: 6, missing: []int{7, 8}, missed: "positions 7 and 8", whole: true,
		lines: three(".015|.011|0|-.011|-.015|-.011|0|.011", ".040|.028|0|-.028|-.040|-.028|0|.028", ".075|.053|0|-.053|-.075|-.053|0|.053")}
}

// TestOneVerdictOnEverySurface measures every feature to none, a part and all
// of its positions, with values inside, too close to a limit and outside, and
// reads the verdict off every surface: one word, the same everywhere, and never
// inside while positions are missing.
func TestOneVerdictOnEverySurface(t *testing.T) {
	for _, r := range pinnedRounds {
		for _, state := range []string{none, partial, complete} {
			for _, band := range []string{inside, tooClose, outside} {
				if state == none && band != inside || state == partial && r.part == 0 {
					continue
				}
				t.Run(fmt.Sprintf("%s/%s/%s", r.feature, state, strings.ReplaceAll(band, " ", "-")), func(t *testing.T) {
					t.Parallel()
					j := newPinnedJob(t, pinnedSheet)
					if other := map[string]string{"pattern-drive": "pattern-coast", "pattern-coast": "pattern-drive"}[r.feature]; other != "" {
						at := 2 * slices.Index([]string{inside, tooClose, outside}, band)
						j.measure(r.stage, other, r.first[at:at+2]...)
					}
					typed := r.lines[band]
					want := expected{round: r, state: state, verdict: r.want[band], open: r.feature == "close-up"}
					switch state {
					case none:
						typed, want.verdict = nil, undecided
					case partial:
						typed, want.verdict = typed[:r.part], undecided
						if r.wantPartial != nil {
							want.verdict = r.wantPartial[band]
						}
					}
					want.odds = map[int]string{r.odd: r.want[band]}
					j.measure(r.stage, r.feature, typed...)
					j.read(r.stage, r.feature)
					checkSurfaces(t, j, want)
				})
			}
		}
	}
}

// expected is what the surfaces of a job must say of its one round.
type expected struct {
	round   pinnedRound
	state   string
	verdict string         // of the round
	odds    map[int]string // of the captures that are not inside by themselves, by position
	again   bool           // all is measured, but something has to be measured again
	open    bool           // there is no window
}

// checkSurfaces reads the verdict off every surface of a job.
func checkSurfaces(t *testing.T, j *pinnedJob, want expected) {
	r := want.round
	// said compares what a surface says with the one word; a round without any
	// capture may be left out.
	said := func(c *recorder, text string) {
		if got := verdictsIn(text); want.state != none || len(got) > 0 {
			c.equal(fmt.Sprintf("verdict in %q", text), []string{want.verdict}, got)
		}
	}
	exit := 1
	if want.state == complete && want.verdict != outside {
		exit = 0
	}
	surfaces := []struct {
		name  string
		check func(c *recorder)
	}{
		{"measure", func(c *recorder) {
			said(c, headline(j.measured.out, r.stage))
			want.naming(c, summary(j.measured.out, r.stage))
		}},
		{"measure-exit-code", func(c *recorder) {
			if !want.again {
				c.equal("exit code", exit, j.measured.code)
			}
		}},
		{"job-show", func(c *recorder) { said(c, j.step(r.stage, r.feature)) }},
		{"job-show-json", func(c *recorder) {
			step := find(j.show, "steps", r.stage, r.feature)
			said(c, text(step["verdict"]))
			if !want.again {
				c.equal("done", want.state == complete, step["done"])
			}
		}},
		{"analyse", func(c *recorder) {
			said(c, headline(j.analysed.out, r.stage))
			want.naming(c, summary(j.analysed.out, r.stage))
		}},
		{"analyse-json", func(c *recorder) {
			round := find(j.rounds, "", r.stage, r.feature)
			if want.state == none {
				c.equal("round", map[string]any(nil), round)
				return
			}
			said(c, text(round["verdict"]))
			if !want.again {
				c.equal("complete", want.state == complete, round["complete"])
			}
			if !want.open {
				c.says("reason", "!^no window to judge by$", text(round["reason"]))
			}
			if want.state == partial {
				c.equal("missing", r.missing, ints(round["missing"]))
			}
		}},
		{"analyse-exit-code", func(c *recorder) {
			if want.state == none {
				c.equal("failed", true, j.analysed.code != 0)
				return
			}
			if want.again {
				exit = j.measured.code // alike, whichever it is
			}
			c.equal("exit code of the round", exit, j.analysed.code)
			c.equal("exit code of the job", exit, j.whole.code)
		}},
		{"replay-json", func(c *recorder) {
			events := strings.Split(strings.TrimSpace(j.replayed.out), "\n")
			if want.state == none || j.replayed.out == "" {
				return
			}
			round := parseJSON(t, events[len(events)-1]).(map[string]any)
			said(c, text(round["verdict"]))
			if !want.again {
				c.equal("complete", want.state == complete, round["complete"])
			}
			if want.state == complete && !want.again { // of a part replay says that it could be played
				c.equal("exit code", exit, j.replayed.code)
			}
		}},
		{"record-csv", func(c *recorder) { checkRecord(c, j, want) }},
		{"export-json", func(c *recorder) { checkExport(c, j, want) }},
		{"export-html", func(c *recorder) {
			for _, cell := range j.page.verdicts {
				said(c, cell)
			}
			if want.state != none {
				c.equal("a verdict is there", r.feature != "close-up", len(j.page.verdicts) > 0) // which is said in words
				want.naming(c, j.page.text)
			}
		}},
	}
	for _, s := range surfaces {
		t.Run(s.name, func(t *testing.T) { pin(t, s.check) })
	}
}

// naming wants a text to name the positions that are missing, and no count in
// it to say that none is.
func (e expected) naming(c *recorder, text string) {
	if e.state != partial {
		return
	}
	c.says("missing positions", e.round.missed, text)
	if m := regexp.MustCompile(`(\d+) of (\d+) measured`).FindStringSubmatch(text); m != nil {
		c.equal(m[0]+" is all", false, m[1] == m[2])
	}
}

// checkRecord wants a word in the row of every capture that is judged by
// itself, and of a run-out in the row of its full movement; no other row has one.
func checkRecord(c *recorder, j *pinnedJob, want expected) {
	r := want.round
	carried := r.first != nil // a contact pattern is not judged in any row
	for i, row := range j.record(r.feature) {
		what := fmt.Sprintf("row of position %s, %s", row["position"], row["value"])
		switch {
		case r.whole && row["position"] == "0":
			carried = true
			c.equal("row of the round", want.verdict, row["verdict"])
		case r.whole, i < r.early:
			c.equal(what, "", row["verdict"])
		default:
			carried = true
			at, _ := strconv.Atoi(row["position"])
			c.equal(what, want.single(at), row["verdict"])
		}
	}
	if want.state == complete {
		c.equal("a row carries the verdict", true, carried)
	}
}

// single is the verdict of one capture by itself.
func (e expected) single(position int) string {
	if word, ok := e.odds[position]; ok {
		return word
	}
	return inside
}

// checkExport looks at the summary, at the section of the feature, and at the
// verdict of the whole, for nothing else is measured.
func checkExport(c *recorder, j *pinnedJob, want expected) {
	r := want.round
	line := find(j.export, "summary", r.stage, r.feature)
	if want.state == none {
		c.equal("line of the summary", map[string]any(nil), line)
		return
	}
	c.equal("summary", want.verdict, text(line["verdict"]))
	want.naming(c, text(line["reason"]))
	if r.first == nil {
		c.equal("of the whole job", want.verdict, j.export.(map[string]any)["verdict"])
	}
	for _, section := range []string{"backlash", "runout", "bolts", "leak_down"} {
		if strings.HasPrefix(strings.ReplaceAll(r.feature, "bolt-", "bolts-"), strings.ReplaceAll(section, "_", "-")) {
			checkSection(c, find(j.export, section, r.stage, r.feature), want)
		}
	}
}

func checkSection(c *recorder, section map[string]any, want expected) {
	c.equal("section", want.verdict, text(section["verdict"]))
	for list, number := range map[string]string{"positions": "position", "bolts": "number"} {
		of, _ := section[list].([]any)
		for _, v := range of {
			place := v.(map[string]any)
			at := int(place[number].(float64))
			word := want.single(at)
			if want.state == partial && slices.Contains(want.round.missing, at) {
				word = undecided
			}
			c.equal(fmt.Sprintf("%s %d", number, at), word, place["verdict"])
		}
	}
}
