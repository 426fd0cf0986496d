package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A forger changes the files of a job. It knows the formats as they are described,
// and none of the program's own code.
type forger struct {
	t   *testing.T
	dir string
}

func (f forger) read(name string) string {
	f.t.Helper()
	text, err := os.ReadFile(filepath.Join(f.dir, name))
	require.NoError(f.t, err)
	return string(text)
}

func (f forger) write(name, text string) {
	f.t.Helper()
	require.NoError(f.t, os.WriteFile(filepath.Join(f.dir, name), []byte(text), 0o644))
}

// swap replaces the first such text of a file, which must be there.
func (f forger) swap(name, from, to string) {
	f.t.Helper()
	text := f.read(name)
	require.Contains(f.t, text, from, name)
	f.write(name, strings.Replace(text, from, to, 1))
}

// lines is a CSV file of the job by lines without their ends.
func (f forger) lines(name string) []string {
	return strings.Split(strings.TrimSuffix(f.read(name), "\r\n"), "\r\n")
}

func (f forger) setLines(name string, lines []string) {
	f.write(name, strings.Join(lines, "\r\n")+"\r\n")
}

// at is the index of the first line that holds all of these.
func (f forger) at(name string, texts ...string) int {
	f.t.Helper()
	i := slices.IndexFunc(f.lines(name), func(line string) bool {
		return !slices.ContainsFunc(texts, func(s string) bool { return !strings.Contains(line, s) })
	})
	require.GreaterOrEqual(f.t, i, 0, "%v in %s", texts, name)
	return i
}

// cell changes a cell of a line, and gives the line the CRC-32 that fits it.
func (f forger) cell(name string, line, cell int, to string) {
	lines := f.lines(name)
	cells := strings.Split(lines[line], ",")
	cells[cell] = to
	lines[line] = withCRC(strings.Join(cells[:len(cells)-1], ","))
	f.setLines(name, lines)
}

func withCRC(covered string) string {
	return fmt.Sprintf("%s,%08x", covered, crc32.ChecksumIEEE([]byte(covered)))
}

// rechain makes the chain anew over the lines as they stand, and the digest: what
// only whoever knows all of this can do.
func (f forger) rechain() {
	lines := f.lines("captures.csv")
	sum := sha256.Sum256([]byte(lines[0]))
	first := ""
	for i, line := range lines[1:] {
		for range 2 {
			line = line[:strings.LastIndex(line, ",")]
		}
		sum = sha256.Sum256([]byte(hex.EncodeToString(sum[:]) + "," + line))
		if i == 0 {
			first = hex.EncodeToString(sum[:])
		}
		lines[i+1] = withCRC(line + "," + hex.EncodeToString(sum[:]))
	}
	f.setLines("captures.csv", lines)
	digest := f.lines("captures.digest")
	digest[2], digest[3], digest[4] = "first "+first, "last "+hex.EncodeToString(sum[:]), fmt.Sprintf("lines %010d", len(lines)-1)
	f.setLines("captures.digest", digest)
}

// reseal puts the hash of a file as it is now into the line that seals it.
func (f forger) reseal(name string) {
	sum := sha256.Sum256([]byte(f.read(name)))
	lines := f.lines("captures.csv")
	i := f.at("captures.csv", ",seal,", name)
	cells := strings.Split(lines[i], ",")
	cells[15] = hex.EncodeToString(sum[:])
	lines[i] = strings.Join(cells, ",")
	f.setLines("captures.csv", lines)
}

// forgeable is a job with something of everything: rounds from gauges, typed
// values, moves, a photo, an override, two sheets.
func forgeable(t *testing.T) string {
	t.Helper()
	dir, _ := playRehearsal(t, "--seed", "7")
	do := func(args ...string) {
		t.Helper()
		r := crownlog(t, nil, args...)
		require.Zero(t, r.code, "%v: %s", args, r.err)
	}
	photo := filepath.Join(t.TempDir(), "photo.jpg")
	require.NoError(t, os.WriteFile(photo, []byte("a picture"), 0o644))
	do("job", "attach", dir, photo, "--note", "drive flank")
	do("job", "override", dir, "back-face", "invented for a test", "--stage", "bench")
	f := forger{t, dir}
	f.write("job.toml", f.read("job.toml")+"\n# a second sheet\n")
	typed := crownlog(t, []string{"1.9"}, "measure", dir, "--keyed", "--stage", "final", "--feature", "oil-fill", "--again")
	require.LessOrEqual(t, typed.code, 1, typed.err)
	return dir
}

// TestForgeries: each is noticed, with its file and line, and a whole job passes.
func TestForgeries(t *testing.T) {
	t.Parallel()
	whole := forgeable(t)
	other, _ := playRehearsal(t, "--seed", "8")
	const journal, rocked = "captures.csv", "readings/final-backlash-1.csv"
	photos, err := filepath.Glob(filepath.Join(whole, "attachments", "*"))
	require.NoError(t, err)
	require.Len(t, photos, 1)
	photo := "attachments/" + filepath.Base(photos[0])
	remove := func(f forger, name string, i int) { f.setLines(name, slices.Delete(f.lines(name), i, i+1)) }
	forgeries := []struct {
		name  string
		forge func(f forger)
		want  string // of a line that says it is not sound
	}{
		// Those that were found to pass before there was a chain.
		{"a value with its check value", func(f forger) { f.cell(journal, f.at(journal, ",final,backlash,1,"), 7, "0.15") }, `captures.csv:\d+: the line does not follow`},
		{"a line removed", func(f forger) { remove(f, journal, f.at(journal, ",final,backlash,3,")) }, `captures.csv:\d+: capture \d+ follows`},
		{"the last lines removed", func(f forger) { f.setLines(journal, f.lines(journal)[:60]) }, `captures.csv:61: it has 59 lines of the \d+ that were stored`},
		{"a line doubled", func(f forger) {
			l := f.lines(journal)
			f.setLines(journal, slices.Insert(l, 20, l[19]))
		}, `captures.csv:21: `},
		{"lines swapped", func(f forger) { l := f.lines(journal); l[10], l[11] = l[11], l[10]; f.setLines(journal, l) }, `captures.csv:11: `},
		{"a line of another job", func(f forger) {
			l := f.lines(journal)
			i := f.at(journal, ",final,backlash,1,")
			l[i] = forger{f.t, other}.lines(journal)[i]
			f.setLines(journal, l)
		}, `captures.csv:\d+: the line does not follow`},
		{"a window widened", func(f forger) { f.swap("job.toml", "upper = 0.2", "upper = 0.9") }, `job.toml:\d+: it was changed since the last line was stored: - line \d+ "upper = 0.2`},
		{"a vehicle renamed", func(f forger) { f.swap("job.toml", "label = ", "label = \"Another\" # ") }, `job.toml:\d+: it was changed`},
		{"a reading changed", func(f forger) { f.swap(rocked, ",mm,", ",in,") }, `readings/final-backlash-1.csv:\d+: check value does not agree`},
		{"a reading with its check value", func(f forger) { f.cell(rocked, 40, 3, "0.5") }, `readings/final-backlash-1.csv: the file has changed; its hash stands in captures.csv:\d+`},
		// Others.
		{"a time", func(f forger) { f.cell(journal, 5, 2, "2026-02-28T08:00:00Z") }, `captures.csv:6: the line does not follow`},
		{"a position", func(f forger) { f.cell(journal, 5, 5, "7") }, `captures.csv:6: the line does not follow`},
		{"an uncertainty", func(f forger) { f.cell(journal, 5, 9, "0.0001") }, `captures.csv:6: the line does not follow`},
		{"an override taken out", func(f forger) { remove(f, journal, f.at(journal, ",override,")) }, `captures.csv:\d+: `},
		{"a seal taken out", func(f forger) { remove(f, journal, f.at(journal, ",seal,")) }, `captures.csv:\d+: the line does not follow`},
		{"the digest shortened with the journal", func(f forger) { f.setLines(journal, f.lines(journal)[:60]); f.rechain() }, `readings/final-backlash-1.csv: no line of captures.csv seals it`},
		{"the digest deleted", func(f forger) { require.NoError(f.t, os.Remove(filepath.Join(f.dir, "captures.digest"))) }, `captures.csv: captures.digest, which says where it ends, is missing`},
		{"the digest of another job", func(f forger) { f.write("captures.digest", forger{f.t, other}.read("captures.digest")) }, `captures.csv: it is another job's`},
		{"the digest scribbled over", func(f forger) { f.swap("captures.digest", "last ", "last x") }, `captures.digest: it is not as this program writes it`},
		{"the journal of another job", func(f forger) { f.write(journal, forger{f.t, other}.read(journal)) }, `captures.csv: it is another job's`},
		{"journal and digest of another job", func(f forger) {
			f.write(journal, forger{f.t, other}.read(journal))
			f.write("captures.digest", forger{f.t, other}.read("captures.digest"))
		}, `readings/.*: the file has changed`},
		{"a photo replaced", func(f forger) { f.swap(photo, "picture", "forgery") }, photo + ": the attached file has changed"},
		{"a photo deleted", func(f forger) { require.NoError(f.t, os.Remove(filepath.Join(f.dir, photo))) }, photo + ": the attached file is missing"},
		{"a kept sheet changed", func(f forger) {
			kept, _ := filepath.Glob(filepath.Join(f.dir, "sheets", "*.toml"))
			f.swap("sheets/"+filepath.Base(kept[0]), "upper = 0.2", "upper = 0.9")
		}, `sheets/.*toml: the file has changed; its hash stands in captures.csv:\d+`},
		{"readings deleted", func(f forger) { require.NoError(f.t, os.Remove(filepath.Join(f.dir, rocked))) }, `readings/final-backlash-1.csv: the file is missing; its hash stands in captures.csv:\d+`},
		{"readings swapped", func(f forger) {
			a, b := f.read(rocked), f.read("readings/caps-torqued-backlash-1.csv")
			f.write(rocked, b)
			f.write("readings/caps-torqued-backlash-1.csv", a)
		}, `readings/final-backlash-1.csv: the file has changed`},
		{"readings added", func(f forger) { f.write("readings/final-backlash-2.csv", f.read(rocked)) }, `readings/final-backlash-2.csv: no line of captures.csv seals it`},
		{"a value, with the whole chain made anew", func(f forger) { f.cell(journal, f.at(journal, ",final,backlash,1,"), 7, "0.15"); f.rechain() },
			`captures.csv:\d+: readings/final-backlash-1.csv: the value is 0.15 in the record and 0\.\d+ from its readings`},
		{"a torque, with the whole chain made anew", func(f forger) { f.cell(journal, f.at(journal, ",bolt-torque-caps,2,"), 7, "85"); f.rechain() },
			`captures.csv:\d+: readings/caps-torqued-bolt-torque-caps-1.csv: the value is 85 in the record and \d+\.\d from its readings`},
		{"a leak, with the whole chain made anew", func(f forger) { f.cell(journal, f.at(journal, ",leak-down,"), 7, "0.1"); f.rechain() },
			`captures.csv:\d+: readings/final-leak-down-1.csv: the value is 0.1 in the record`},
		{"readings, resealed, with the whole chain made anew", func(f forger) {
			for i := 100; i < 1000; i++ {
				f.cell(rocked, i, 3, "0.1")
			}
			f.reseal(rocked)
			f.rechain()
		}, `captures.csv:\d+: readings/final-backlash-1.csv (does not give this capture|: the )`},
		{"an outside value left out, with the whole chain made anew", func(f forger) {
			i := f.at(journal, ",final,leak-down,")
			l := slices.Delete(f.lines(journal), i, i+1)
			for k := i; k < len(l); k++ { // the numbers close up
				cells := strings.Split(l[k], ",")
				number := &cells[0]
				if cells[0] == "0" {
					number = &cells[10]
				}
				n, err := strconv.Atoi(*number)
				require.NoError(f.t, err)
				*number = strconv.Itoa(n - 1)
				l[k] = strings.Join(cells, ",")
			}
			f.setLines(journal, l)
			f.rechain()
		}, `readings/final-leak-down-1.csv: it gives air test`},
		{"a capture untied from its readings", func(f forger) {
			i := f.at(journal, ",final,backlash,1,")
			f.cell(journal, i, 7, "0.15")
			f.cell(journal, i, 19, "")
			f.rechain()
		}, `readings/final-backlash-1.csv: it gives backlash 1 at final, which is not in captures.csv`},
		{"the chain taken off", func(f forger) {
			l := f.lines(journal)
			old := []string{strings.Replace(l[0], ",readings,u_own,u_hand,chain,crc", ",crc", 1)}
			for _, line := range l[1:] {
				if !strings.HasPrefix(line, "0,") {
					for range 5 {
						line = line[:strings.LastIndex(line, ",")]
					}
					old = append(old, withCRC(line))
				}
			}
			f.setLines(journal, old)
			require.NoError(f.t, os.Remove(filepath.Join(f.dir, "captures.digest")))
		}, `captures.csv:1: its \d+ captures were made before there was a chain`},
		{"a value, and then mended", func(f forger) {
			f.cell(journal, f.at(journal, ",final,backlash,1,"), 7, "0.15")
			require.Zero(f.t, crownlog(f.t, nil, "job", "mend", f.dir, "--set-aside").code)
		}, `captures.csv:3: REPAIRED: the journal was mended and chained anew \(edited\)`},
		{"a unit", func(f forger) { f.cell(journal, 5, 8, "in") }, `captures.csv:6: unit "in"`},
		{"a feature of its own", func(f forger) { f.cell(journal, 5, 4, "backlosh") }, `captures.csv:6: unknown feature`},
		{"an uncertainty below nothing", func(f forger) { f.cell(journal, 5, 9, "-1") }, `captures.csv:6: uncertainty -1`},
		{"a position nobody has", func(f forger) { f.cell(journal, 5, 5, "999999999") }, `captures.csv:6: capture has position`},
		{"a stage of its own, with the whole chain made anew", func(f forger) { f.cell(journal, f.at(journal, ",oil-fill,"), 3, "finally"); f.rechain() }, `captures.csv:\d+: stage "finally" is not in job.toml`},
	}
	assert.GreaterOrEqual(t, len(forgeries), 30)
	r := crownlog(t, nil, "verify", whole)
	require.Zero(t, r.code, r.out)
	from := len(regexp.MustCompile(`(?m),\w[\w-]*\.csv:\d+,[0-9.]*,[0-9.]*,[0-9a-f]{64},`).FindAllString(forger{t, whole}.read(journal), -1))
	assert.Greater(t, from, 80)
	assert.Regexp(t, fmt.Sprintf(`is sound: \d+ captures, of which the readings gave %d again`, from), r.out)
	assert.Regexp(t, `note  captures.csv:\d+: OVERRIDDEN at bench, back-face: invented for a test`, r.out)
	assert.Regexp(t, `note  captures.csv:\d+: from capture \d+ on job.toml is another: \+ line \d+ "# a second sheet"`, r.out)
	for _, tt := range forgeries {
		t.Run(tt.name, func(t *testing.T) {
			f := forger{t, filepath.Join(t.TempDir(), "job")}
			require.NoError(t, os.CopyFS(f.dir, os.DirFS(whole)))
			tt.forge(f)
			r := crownlog(t, nil, "verify", f.dir)
			assert.Equal(t, exitRecord, r.code, "%s", r.out)
			assert.Regexp(t, `(?m)^NOT SOUND  `+tt.want, r.out)
		})
	}
}

// TestClocks: times that cannot be, and a clock that was set back, are told.
func TestClocks(t *testing.T) {
	t.Parallel()
	whole := forgeable(t)
	f := forger{t, whole}
	oil := f.at("captures.csv", ",oil-fill,")
	for at, want := range map[string]string{
		"0001-01-02T00:00:00Z":                                  "the clock stood at 0001-01-02 00:00:00",
		time.Now().AddDate(70, 0, 0).UTC().Format(time.RFC3339): "the times of this run are not known",
		"2026-01-01T00:00:00Z":                                  "the clock went back by ",
	} {
		f.cell("captures.csv", oil, 2, at)
		f.rechain()
		r := crownlog(t, nil, "verify", whole)
		assert.Contains(t, r.out, fmt.Sprintf("note  captures.csv:%d: the clock ", oil+1))
		assert.Contains(t, r.out, want)
	}
}

// TestVerifyRefuses what is neither a job nor a bundle of one.
func TestVerifyRefuses(t *testing.T) {
	dir := t.TempDir()
	assert.Equal(t, exitUsage, crownlog(t, nil, "verify", dir).code)
	assert.Equal(t, exitUsage, crownlog(t, nil, "verify", filepath.Join(dir, "none.zip")).code)
	text := filepath.Join(dir, "text.zip")
	require.NoError(t, os.WriteFile(text, []byte("text"), 0o644))
	r := crownlog(t, nil, "verify", text)
	assert.Equal(t, exitUsage, r.code)
	assert.Contains(t, r.err, "text.zip: zip: not a valid zip file; give a job folder that was packed")
}

// pack makes a .zip of files, by name.
func pack(t *testing.T, path string, files fs.FS, top string) {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	require.NoError(t, fs.WalkDir(files, ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := fs.ReadFile(files, name)
		require.NoError(t, err)
		w, err := z.Create(top + name)
		require.NoError(t, err)
		_, err = w.Write(text)
		return err
	}))
	require.NoError(t, z.Close())
	require.NoError(t, os.WriteFile(path, out.Bytes(), 0o644))
}

// TestPackedAndSigned: a job that was handed over as a .zip, and a digest that was
// signed with OpenSSH, against which the whole chain made anew does not help.
func TestPackedAndSigned(t *testing.T) {
	t.Parallel()
	dir := forgeable(t)
	f := forger{t, dir}
	tmp := t.TempDir()
	packed, kept := filepath.Join(tmp, "job.zip"), filepath.Join(tmp, "kept.digest")
	for _, top := range []string{"", "axle/"} {
		pack(t, packed, os.DirFS(dir), top)
		r := crownlog(t, nil, "verify", packed)
		require.Zero(t, r.code, "%s%s", r.out, r.err)
		assert.Contains(t, r.out, "job.zip is sound: ")
	}
	require.NoError(t, os.WriteFile(kept, []byte(f.read("captures.digest")), 0o644))
	if tool, err := exec.LookPath("ssh-keygen"); err == nil {
		ssh := func(stdin string, args ...string) {
			c := exec.Command(tool, args...)
			c.Stdin = strings.NewReader(stdin)
			said, err := c.CombinedOutput()
			require.NoError(t, err, "%v: %s", args, said)
		}
		key, allowed := filepath.Join(tmp, "key"), filepath.Join(tmp, "allowed")
		ssh("", "-q", "-t", "ed25519", "-N", "", "-C", "engineer", "-f", key)
		ssh("", "-Y", "sign", "-n", "crownlog", "-f", key, kept)
		public, err := os.ReadFile(key + ".pub")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(allowed, append([]byte("engineer@example.org "), public...), 0o600))
		ssh(f.read("captures.digest"), "-Y", "verify", "-f", allowed, "-I", "engineer@example.org", "-n", "crownlog", "-s", kept+".sig")
	}
	require.Zero(t, crownlog(t, nil, "job", "note", dir, "the record goes on").code)
	require.Zero(t, crownlog(t, nil, "verify", dir, "--digest", kept).code)
	f.cell("captures.csv", f.at("captures.csv", ",oil-fill,"), 15, "forged")
	f.rechain()
	require.Equal(t, exitRecord, crownlog(t, nil, "verify", dir, "--digest", kept).code)
	assert.Regexp(t, `NOT SOUND  captures.csv:\d+: the line is not the one that was stored`, crownlog(t, nil, "verify", dir, "--digest", kept).out)
	assert.Equal(t, exitRecord, crownlog(t, nil, "verify", dir, "--digest", filepath.Join(tmp, "none")).code)
}

// TestTakenAwayWhileMeasuring: the run stops at the next value, or at its end, and
// says what is safe.
func TestTakenAwayWhileMeasuring(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a file that is open cannot be moved there")
	}
	t.Parallel()
	for _, when := range []string{"before a value", "before the end"} {
		t.Run(when, func(t *testing.T) {
			j := newPinnedJob(t, pinnedSheet)
			typed, typing := io.Pipe()
			stored := make(chan struct{}, 8)
			var stdout, stderr bytes.Buffer
			done := make(chan int, 1)
			go func() {
				done <- run(t.Context(), []string{"measure", j.dir, "--keyed", "--stage", "as-found", "--feature", "backlash"}, typed, writerFunc(func(p []byte) (int, error) {
					if bytes.Contains(p, []byte("0.1")) {
						stored <- struct{}{}
					}
					return stdout.Write(p)
				}), &stderr)
			}()
			for range 3 {
				fmt.Fprintln(typing, "0.15")
				<-stored
			}
			path := filepath.Join(j.dir, "captures.csv")
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NoError(t, os.Rename(path, path+".old"))
			require.NoError(t, os.WriteFile(path, text, 0o644))
			if when == "before a value" {
				fmt.Fprintln(typing, "0.16")
			}
			typing.Close()
			assert.Equal(t, exitRecord, <-done, stderr.String())
			assert.Contains(t, stderr.String(), "the file was replaced by another while it was being written to; nothing more is stored; 3 values stored before, safe in "+path+".rescued-1")
			assert.NotContains(t, stdout.String(), "0.16")
		})
	}
}

type writerFunc func(p []byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

// TestReportNamesItsRecord: the digest stands on every page and in the JSON, where
// it can be compared with what verify prints.
func TestReportNamesItsRecord(t *testing.T) {
	t.Parallel()
	dir := forgeable(t)
	r := crownlog(t, nil, "export", dir, "--html", "--pdf", "--json")
	require.Zero(t, r.code, r.err)
	digest := forger{t, dir}.lines("captures.digest")
	last := strings.TrimPrefix(digest[3], "last ")
	require.Len(t, last, 64)
	assert.Equal(t, last, parseJSON(t, r.out).(map[string]any)["record"].(map[string]any)["last"])
	assert.Contains(t, crownlog(t, nil, "verify", dir).out, "last "+last)
	html, err := os.ReadFile(filepath.Join(dir, "report.html"))
	require.NoError(t, err)
	assert.Contains(t, string(html), last)
	assert.Contains(t, string(html), "<title>Invented wagon, rehearsal, Crown wheel")
	if tool, err := exec.LookPath("pdftotext"); err == nil {
		text, err := exec.Command(tool, "-layout", filepath.Join(dir, "report.pdf"), "-").Output()
		require.NoError(t, err)
		pages := strings.Count(string(text), "\f")
		assert.Greater(t, pages, 1)
		assert.Equal(t, pages+1, strings.Count(string(text), last), "at the foot of each page, and above the signatures")
		assert.Equal(t, pages, strings.Count(string(text), "Record of Invented wagon, rehearsal"))
	}
}
