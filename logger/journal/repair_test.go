package journal

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// repairJournal is a job of six lines: as found, a set-up round of one position,
// a move, the position again, and a note.
func repairJournal(t *testing.T) [][]byte {
	t.Helper()
	found, before, move, after, again, note := sampleCapture(1, 0.16), sampleCapture(1, 0.20), record.Blank(record.StageSetUp, record.FeatureMove, folderTime),
		sampleCapture(1, 0.17), sampleCapture(1, 0.165), record.Blank(record.StageSetUp, record.FeatureNote, folderTime)
	before.Stage, after.Stage, again.Stage = record.StageSetUp, record.StageSetUp, record.StageSetUp
	move.Value, move.Unit, note.Note = 1, "notch", "sealant"
	after.Supersedes, again.Supersedes = 2, 4
	lines := [][]byte{[]byte(oldHeader + lineEnd)}
	for i, c := range []record.Capture{found, before, move, after, again, note} {
		c.ID = i + 1
		lines = append(lines, appendOld(nil, c))
	}
	return lines
}

func TestRepair(t *testing.T) {
	flip := func(line int, old, with string) func([][]byte) [][]byte {
		return func(l [][]byte) [][]byte {
			require.Contains(t, string(l[line]), old)
			l[line] = bytes.Replace(l[line], []byte(old), []byte(with), 1)
			return l
		}
	}
	tests := []struct {
		name     string
		damage   func([][]byte) [][]byte
		sound    int
		lost     []int  // lines
		quality  string // of the line in the place of each number, first letters
		standing int    // of the set-up backlash
		found    int    // of the backlash as found
		reason   string
	}{
		{"a value", flip(5, ",0.165,", ",0.166,"), 5, []int{6}, "oooolo", 0, 1, "check value"},
		{"a note", flip(6, "sealant", "sealent"), 5, []int{7}, "oooool", 1, 1, "check value"},
		{"a move", flip(3, ",notch,", ",natch,"), 5, []int{4}, "oolooo", 1, 1, "check value"},
		{"a feature", flip(5, ",backlash,", ",backwash,"), 5, []int{6}, "oooolo", 0, 1, "check value"},
		{"no line at all", func(l [][]byte) [][]byte { return slices.Delete(l, 5, 6) }, 5, nil, "oooolo", 0, 1, ""},
		{"a doubled line", func(l [][]byte) [][]byte { return slices.Insert(l, 3, l[3]) }, 6, nil, "oooooo", 1, 1, ""},
		{"swapped lines", func(l [][]byte) [][]byte { l[1], l[2] = l[2], l[1]; return l }, 6, nil, "oooooo", 1, 1, ""},
		{"the header", flip(0, "stage", "stige"), 6, []int{1}, "oooooo", 1, 1, "check value"},
		{"saved with LF", func(l [][]byte) [][]byte {
			for i := range l {
				l[i] = bytes.Replace(l[i], []byte("\r\n"), []byte("\n"), 1)
			}
			return l
		}, 6, nil, "oooooo", 1, 1, ""},
		{"saved with CR and a mark", func(l [][]byte) [][]byte {
			for i := range l {
				l[i] = bytes.Replace(l[i], []byte("\r\n"), []byte("\r"), 1)
			}
			l[0] = append([]byte("\ufeff"), l[0]...)
			return l
		}, 6, nil, "oooooo", 1, 1, ""},
		{"emptied", func([][]byte) [][]byte { return nil }, 0, nil, "", 0, 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			damaged := bytes.Join(tt.damage(repairJournal(t)), nil)
			dir := folderWith(t, damaged)
			_, err := readFolder(dir)
			var damage *DamageError
			require.ErrorAs(t, err, &damage)

			m, err := Examine(dir, record.StageBench)
			require.NoError(t, err)
			var lost []int
			for _, l := range m.Lost {
				lost = append(lost, l.Line)
				assert.Contains(t, l.Reason, tt.reason)
			}
			assert.Equal(t, tt.lost, lost)
			assert.Equal(t, tt.sound, m.Sound)
			now, err := os.ReadFile(filepath.Join(dir, captureFile))
			require.NoError(t, err)
			assert.Equal(t, string(damaged), string(now), "looking changes nothing")

			m, err = SetAside(dir, record.StageBench)
			require.NoError(t, err)
			kept, err := os.ReadFile(m.KeptAs)
			require.NoError(t, err)
			assert.Equal(t, string(damaged), string(kept))
			snap, err := readFolder(dir)
			require.NoError(t, err)
			qualities := ""
			for _, c := range snap.Captures {
				if c.Quality == record.QualityLost {
					assert.Contains(t, c.Note, "captures.csv.damaged-1")
				}
				qualities += c.Quality[:1]
			}
			assert.Equal(t, tt.quality, qualities)
			assert.Len(t, record.Valid(snap.Captures, record.StageSetUp, record.FeatureBacklash), tt.standing)
			assert.Len(t, record.Valid(snap.Captures, record.StageAsFound, record.FeatureBacklash), tt.found)

			f, err := openFolder(dir)
			require.NoError(t, err)
			c, err := f.Append(sampleCapture(2, 0.17))
			require.NoError(t, err)
			assert.Equal(t, len(snap.Captures)+1, c.ID)
			require.NoError(t, f.Close())
		})
	}
}

func TestRepairRefuses(t *testing.T) {
	sound := bytes.Join(repairJournal(t), nil)
	dir := folderWith(t, sound)
	_, err := SetAside(dir, record.StageBench)
	require.ErrorContains(t, err, "every line agrees")
	require.NoError(t, os.Remove(filepath.Join(dir, captureFile)))
	_, err = Examine(dir, record.StageBench)
	require.ErrorContains(t, err, "the file is missing")

	held, err := openFolder(folderWith(t, sound))
	require.NoError(t, err)
	_, err = SetAside(held.Dir(), record.StageBench)
	require.ErrorIs(t, err, ErrFolderInUse)
	require.NoError(t, held.Close())
}

// repaired examines a journal that lacks its first line.
func repaired(t *testing.T, lines ...string) Repair {
	t.Helper()
	data := oldHeader + lineEnd + strings.Join(lines, "")
	m, err := Examine(folderWith(t, []byte(data)), record.StageBench)
	require.NoError(t, err)
	return m
}

// numbered is the line of a capture with a number, in place of another one.
func numbered(id, supersedes int) string {
	c := sampleCapture(1, 0.17)
	c.ID, c.Supersedes = id, supersedes
	return string(appendOld(nil, c))
}

// TestRepairOfStrangeNumbers: of a number that cannot be among so few lines as
// many stand-ins would be made.
func TestRepairOfStrangeNumbers(t *testing.T) {
	m := repaired(t, numbered(1300, 0)) // 1000, and 100 for each line: header, capture and what follows it
	assert.Empty(t, m.Lost)
	assert.Len(t, m.Captures, 1300)
	for id, want := range map[int]string{
		1301: "number 1301 cannot be among 3 lines", 0: "number 0 cannot be among 3 lines", -1: "number -1 cannot be among 3 lines",
	} {
		m := repaired(t, numbered(id, 0))
		require.Len(t, m.Lost, 1)
		assert.Equal(t, LostLine{Line: 2, Reason: want, Text: strings.TrimSuffix(numbered(id, 0), lineEnd)}, m.Lost[0])
		assert.Zero(t, m.Sound)
		assert.Len(t, m.Captures, 1, "one line, one stand-in")
	}
	m = repaired(t, numbered(3, 3))
	require.Len(t, m.Lost, 1)
	assert.Equal(t, "capture supersedes 3, which does not exist", m.Lost[0].Reason)
	m = repaired(t, numbered(3, 2))
	assert.Empty(t, m.Lost)
}

// TestRepairKeepsWhatIsStillReadable of a line that does not agree with its check
// value: what it superseded, and that it was no move.
func TestRepairKeepsWhatIsStillReadable(t *testing.T) {
	spoiled := func(id, supersedes int) string {
		return strings.Replace(numbered(id, supersedes), ",0.17,", ",0.71,", 1)
	}
	for supersedes, want := range map[int]int{-1: 0, 0: 0, 1: 1, 2: 2, 3: 0, 4: 0} {
		m := repaired(t, numbered(1, 0), numbered(2, 0), spoiled(3, supersedes), numbered(4, 0))
		require.Len(t, m.Captures, 4)
		c := m.Captures[2]
		assert.Equal(t, want, c.Supersedes, "superseding %d", supersedes)
		assert.Equal(t, record.FeatureNote, c.Feature)
		assert.Equal(t, "a line was lost, it seems of backlash, as-found; the file as it was is", c.Note)
		assert.Equal(t, m.Captures[1].Time, c.Time, "when the line before was made")
	}
	m := repaired(t, numbered(1, 0), strings.Replace(spoiled(2, 0), ",backlash,", ",move,", 1), numbered(3, 0))
	assert.Equal(t, record.FeatureMove, m.Captures[1].Feature)
	m = repaired(t, numbered(1, 0), strings.Replace(spoiled(2, 1), ",indicator,", ",indicator,,", 1), numbered(3, 0))
	assert.Equal(t, record.FeatureMove, m.Captures[1].Feature, "a cell more: nothing of it can be trusted")
	assert.Zero(t, m.Captures[1].Supersedes)
}

func TestRepairTellsTheBeginningOfLongLines(t *testing.T) {
	for text, want := range map[string]string{
		strings.Repeat("x", 200):       strings.Repeat("x", 200),
		strings.Repeat("x", 201):       strings.Repeat("x", 200) + "…",
		"x" + strings.Repeat("µ", 150): "x" + strings.Repeat("µ", 99) + "…", // no half letter
	} {
		m := repaired(t, text+lineEnd)
		require.Len(t, m.Lost, 1)
		assert.Equal(t, want, m.Lost[0].Text)
	}
}

// TestRepairOfTheLastLines: a torn line was never announced and gets no number,
// nor does the header.
func TestRepairOfTheLastLines(t *testing.T) {
	m := repaired(t, numbered(1, 0), "gone"+lineEnd, "torn")
	assert.Len(t, m.Lost, 2)
	assert.Len(t, m.Captures, 2)
	data := strings.Replace(oldHeader, "id", "ID", 1) + lineEnd + numbered(1, 0)
	m, err := Examine(folderWith(t, []byte(data)), record.StageBench)
	require.NoError(t, err)
	assert.Len(t, m.Lost, 1)
	assert.Len(t, m.Captures, 1)
}

func TestRepairTwiceKeepsBoth(t *testing.T) {
	dir := folderWith(t, nil)
	first, err := SetAside(dir, record.StageBench)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, captureFile), nil, fileMode))
	second, err := SetAside(dir, record.StageBench)
	require.NoError(t, err)
	assert.NotEqual(t, first.KeptAs, second.KeptAs)
}

func FuzzRepair(f *testing.F) {
	f.Add([]byte("id\r\n"), 3)
	f.Add([]byte("9,8,,a,b,0,,,,,0,,,,,,,,,00000000\n"), 40)
	f.Fuzz(func(t *testing.T, junk []byte, at int) {
		whole := bytes.Join(repairJournal(t), nil)
		at = max(0, min(at, len(whole)))
		data := slices.Concat(whole[:at], junk, whole[at:])
		m := Repair{damaged: data}
		m.examine(record.StageBench)
		out, digest := m.written("captures.csv.damaged-1")
		r, _, _, err := readCaptures("x", bytes.NewReader(out), &digest)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, len(r.captures), m.Sound)
		assert.Equal(t, digest, r.whole())
	})
}

// TestJournalWithoutItsHeader: a job folder is made with a whole header, so a
// shorter file has lost its captures.
func TestJournalWithoutItsHeader(t *testing.T) {
	head := oldHeader + lineEnd
	for cut := range len(head) {
		dir := folderWith(t, []byte(head[:cut]))
		var damage *DamageError
		_, err := readFolder(dir)
		require.ErrorAs(t, err, &damage, "cut at %d", cut)
		_, err = openFolder(dir)
		require.ErrorAs(t, err, &damage, "cut at %d", cut)
		data, err := os.ReadFile(filepath.Join(dir, captureFile))
		require.NoError(t, err)
		assert.Equal(t, head[:cut], string(data), "left as it is")
	}
}

func TestHeaderThatLooksRight(t *testing.T) {
	for data, want := range map[string]string{
		oldHeader + "\n":               "ends in LF, not CR LF",
		"\ufeff" + oldHeader + lineEnd: "a byte order mark stands before",
		oldHeader + "\r1,0,":           "ends in CR, not CR LF",
		"id,what" + lineEnd:            `header is not "id,supersedes`,
	} {
		_, err := readFolder(folderWith(t, []byte(data)))
		require.ErrorContains(t, err, want)
	}
}
