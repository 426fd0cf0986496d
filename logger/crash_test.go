package logger

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"crownlog/device"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	f, err := OpenFolder(dir)
	if err != nil {
		return err
	}
	for again := false; ; again = true {
		w, err := f.Readings(StageAsFound, FeatureBacklash)
		if err != nil {
			return err
		}
		round, err := NewRound(RoundConfig{
			Sheet: f.Sheet(), Stage: StageAsFound, Feature: FeatureBacklash, Store: f, Readings: w, HandsOff: true,
			Again: again || (Job{Sheet: f.Sheet(), Captures: f.Captures()}).complete(StageAsFound, FeatureBacklash),
			Listen: func(e Event) {
				if e.Kind == EventCaptured {
					fmt.Printf("%s", appendCapture(nil, e.Capture))
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
	f := newFolder(t)
	dir := f.Dir()
	require.NoError(t, f.Close())
	rng := rand.New(rand.NewPCG(2026, 3))
	torn, before := 0, 0
	for kill := range kills {
		announced := runChild(t, dir, rng)
		snap, err := ReadFolder(dir)
		require.NoError(t, err, "kill %d", kill)
		if snap.Torn != "" {
			torn++
		}
		captures := snap.Captures
		require.GreaterOrEqual(t, len(captures), before+len(announced), "kill %d: an announced capture is gone", kill)
		require.LessOrEqual(t, len(captures), before+len(announced)+1, "kill %d: a capture nobody made", kill)
		for i, line := range announced {
			require.Equal(t, line, string(appendCapture(nil, captures[before+i])))
		}
		for _, c := range captures[before:] {
			assert.InDelta(t, trueBacklash(c.Position), c.Value, 0.004, "kill %d", kill)
		}
		before = len(captures)
		for _, path := range snap.Readings[max(0, len(snap.Readings)-2):] {
			for ev, err := range ReadReadings(path) {
				require.NoError(t, err)
				require.Equal(t, device.EventReading, ev.Kind)
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

// TestTornAtEveryByte cuts the journal inside its last line, at every offset.
func TestTornAtEveryByte(t *testing.T) {
	whole, lines := smallJournal(t, 3)
	start := len(whole) - len(lines[3])
	for cut := start; cut < len(whole); cut++ {
		dir := folderWith(t, whole[:cut])
		snap, err := ReadFolder(dir)
		require.NoError(t, err, "cut at %d", cut)
		require.Len(t, snap.Captures, 2)
		assert.Equal(t, string(whole[start:cut]), snap.Torn)

		f, err := OpenFolder(dir)
		require.NoError(t, err, "cut at %d", cut)
		require.Len(t, f.Captures(), 2)
		torn, err := os.ReadFile(filepath.Join(dir, captureFile+tornSuffix))
		if cut == start {
			assert.Empty(t, f.Torn())
			require.ErrorIs(t, err, os.ErrNotExist)
		} else {
			assert.Equal(t, string(whole[start:cut]), f.Torn())
			assert.Equal(t, string(whole[start:cut])+"\n", string(torn))
		}
		c, err := f.Append(sampleCapture(3, 0.2))
		require.NoError(t, err)
		assert.Equal(t, 3, c.ID)
		require.NoError(t, f.Close())
		snap, err = ReadFolder(dir)
		require.NoError(t, err)
		assert.Len(t, snap.Captures, 3)
	}
}

// TestTornWithZeros is what a power loss leaves where the file's length was
// written but not its data.
func TestTornWithZeros(t *testing.T) {
	whole, lines := smallJournal(t, 2)
	cut := len(whole) - len(lines[2]) + 20
	data := append(append([]byte{}, whole[:cut]...), make([]byte, 300)...)
	f, err := OpenFolder(folderWith(t, data))
	require.NoError(t, err)
	assert.Len(t, f.Captures(), 1)
	assert.Contains(t, f.Torn(), "\x00\x00")
	require.NoError(t, f.Close())
}

// TestEveryFlippedByte changes each byte of a journal in turn, in two ways.
func TestEveryFlippedByte(t *testing.T) {
	t.Parallel()
	whole, lines := smallJournal(t, 3)
	dir := folderWith(t, whole)
	path := filepath.Join(dir, captureFile)
	for i := range whole {
		for _, flip := range []byte{0x01, 0x20, 0x40, 0xff} {
			data := append([]byte{}, whole...)
			data[i] ^= flip
			_, _, _, err := readCaptures(path, bytes.NewReader(data))
			var damage *DamageError
			require.ErrorAs(t, err, &damage, "byte %d of %q ^ %#x", i, lineAt(lines, i), flip)
			assert.InDelta(t, lineNumber(lines, i), damage.Line, 1)
			if i%17 > 0 || flip != 0x01 {
				continue
			}
			require.NoError(t, os.WriteFile(path, data, fileMode))
			_, err = ReadFolder(dir)
			require.ErrorAs(t, err, &damage)
			_, err = OpenFolder(dir)
			require.ErrorAs(t, err, &damage)
		}
	}
}

func TestMissingAndDoubledLines(t *testing.T) {
	_, lines := smallJournal(t, 3)
	for name, order := range map[string][]int{
		"missing": {0, 1, 3}, "doubled": {0, 1, 1, 2, 3}, "swapped": {0, 2, 1, 3}, "first gone": {0, 2, 3},
	} {
		t.Run(name, func(t *testing.T) {
			var data []byte
			for _, i := range order {
				data = append(data, lines[i]...)
			}
			_, err := ReadFolder(folderWith(t, data))
			var damage *DamageError
			require.ErrorAs(t, err, &damage)
			assert.Contains(t, damage.Reason, "missing or doubled")
		})
	}
}

// smallJournal is the bytes of a journal of n captures, and its lines.
func smallJournal(t *testing.T, n int) ([]byte, [][]byte) {
	t.Helper()
	lines := [][]byte{[]byte(captureHeader + lineEnd)}
	for i := range n {
		c := sampleCapture(i+1, 0.16+0.001*float64(i))
		c.ID, c.Note = i+1, `a "note", quoted`
		lines = append(lines, appendCapture(nil, c))
	}
	var whole []byte
	for _, l := range lines {
		whole = append(whole, l...)
	}
	return whole, lines
}

func lineNumber(lines [][]byte, at int) int {
	for i, l := range lines {
		if at < len(l) {
			return i + 1
		}
		at -= len(l)
	}
	return len(lines)
}

func lineAt(lines [][]byte, at int) []byte { return lines[lineNumber(lines, at)-1] }

// folderWith is a job folder with the given captures.csv.
func folderWith(t *testing.T, captures []byte) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, sheetFile), ExampleTOML(), fileMode))
	require.NoError(t, os.WriteFile(filepath.Join(dir, captureFile), captures, fileMode))
	return dir
}
