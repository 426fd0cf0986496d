package logger

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// childDir names the job folder in the environment of a child that measures
// until it is killed.
const childDir = "LOGGER_TEST_CHILD_DIR"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		if err := measureUntilKilled(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// measureUntilKilled measures the backlash all round, over and over, through
// the round engine, and announces each capture on stdout once it is stored.
func measureUntilKilled(dir string) error {
	f, err := job.Open(dir)
	if err != nil {
		return err
	}
	for again := false; ; again = true {
		w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
		if err != nil {
			return err
		}
		round, err := NewRound(RoundConfig{
			Sheet: f.Sheet(), Stage: record.StageAsFound, Feature: record.FeatureBacklash, Store: f, Readings: w, HandsOff: true,
			Again: again || feature.Assess(f.Sheet(), f.Captures(), record.StageAsFound, record.FeatureBacklash).Complete,
			Listen: func(e Event) {
				if e.Kind == EventCaptured {
					fmt.Printf("%+v\n", e.Capture)
				}
			},
		})
		if err != nil {
			return err
		}
		if err := measureAllRound(round, uint64(len(f.Captures()))); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
	}
}

// measureAllRound turns to each position that is left and rocks the wheel there.
func measureAllRound(r *Round, seed uint64) error {
	h := newHandTrace(seed)
	feed := func() error {
		for _, ev := range h.take() {
			if err := r.Handle(ev); err != nil {
				return err
			}
		}
		return nil
	}
	for !r.Done() {
		low := 0.01 * float64(h.rng.IntN(20))
		h.liftAndTurn(low, low)
		if err := feed(); err != nil {
			return err
		}
		v := r.View()
		h.rock(low, trueBacklash(v.Positions[v.Current].Index), 5)
		if err := feed(); err != nil {
			return err
		}
	}
	return nil
}

// TestKilledRuns kills a measuring run at random points, over and over on the
// same folder: whatever was announced as stored is there, whole and once, and
// the next run goes on behind it.
func TestKilledRuns(t *testing.T) {
	t.Parallel()
	kills := 200
	if testing.Short() {
		kills = 20
	}
	dir := filepath.Join(t.TempDir(), "job")
	f, err := job.Create(dir, sheet.ExampleTOML())
	require.NoError(t, err)
	require.NoError(t, f.Close())
	rng := rand.New(rand.NewPCG(2026, 3))
	torn, before := 0, 0
	for kill := range kills {
		announced := runChild(t, dir, rng)
		snap, err := job.Read(dir)
		require.NoError(t, err, "kill %d", kill)
		if snap.Torn != "" {
			torn++
		}
		captures := snap.Captures
		require.GreaterOrEqual(t, len(captures), before+len(announced), "kill %d: an announced capture is gone", kill)
		require.LessOrEqual(t, len(captures), before+len(announced)+1, "kill %d: a capture nobody made", kill)
		for i, line := range announced {
			require.Equal(t, line, fmt.Sprintf("%+v\n", captures[before+i]))
		}
		for _, c := range captures[before:] {
			assert.InDelta(t, trueBacklash(c.Position), c.Value, 0.004, "kill %d", kill)
		}
		before = len(captures)
		for _, path := range snap.Readings[max(0, len(snap.Readings)-2):] {
			want := device.EventRound
			for ev, err := range journal.ReadReadings(path) {
				require.NoError(t, err)
				require.Equal(t, want, ev.Kind)
				want = device.EventReading
			}
		}
	}
	t.Logf("%d kills, %d captures, %d torn lines", kills, before, torn)
}

// runChild starts a child, lets it announce a random number of captures, kills
// it a random moment later, and returns the lines it announced.
func runChild(t *testing.T, dir string, rng *rand.Rand) []string {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childDir+"="+dir)
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	lines := bufio.NewReader(out)
	var announced []string
	read := func() bool {
		line, err := lines.ReadString('\n')
		if err == nil {
			announced = append(announced, line)
		}
		return err == nil
	}
	for range rng.IntN(4) {
		require.True(t, read(), "the child ended by itself")
	}
	time.Sleep(time.Duration(rng.IntN(9000)) * time.Microsecond)
	require.NoError(t, child.Process.Kill())
	for read() {
	}
	require.Error(t, child.Wait())
	return announced
}
