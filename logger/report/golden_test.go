package report

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/export"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// writers are the layouts of a report.
var writers = []struct {
	file  string
	write func(io.Writer, Data) error
}{
	{"report.html", HTML}, {"report.pdf", PDF}, {"results.json", JSON}, {"changes.txt", WriteChanges}, {"changes.json", ChangesJSON},
}

func written(t *testing.T, write func(io.Writer, Data) error, d Data) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b, d))
	return b.String()
}

func TestGoldens(t *testing.T) {
	for _, w := range writers {
		t.Run(w.file, func(t *testing.T) {
			got := written(t, w.write, demoData())
			path := filepath.Join("testdata", "demo-"+w.file)
			if *update {
				require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err)
			if w.file == "report.pdf" { // packed differently by another compressor, the same inside
				require.Equal(t, pdfStreams(t, string(want)), pdfStreams(t, got))
				return
			}
			require.True(t, string(want) == got, "%s differs; look at it and rewrite it with -update", path)
		})
	}
}

// The same job on the same day gives the same bytes, whatever ran before.
func TestSameBytesAgain(t *testing.T) {
	for _, w := range writers {
		first := written(t, w.write, demoData())
		written(t, w.write, manyPositions())
		assert.True(t, first == written(t, w.write, demoData()), w.file)
	}
}

// The report says what readings show; it never says that an axle is safe.
func TestNeverSaysSafe(t *testing.T) {
	safe := regexp.MustCompile(`(?i)\b(safe|safely|roadworthy|approved|certified)\b`)
	for _, d := range []Data{demoData(), manyPositions(), Build(demoSheet(), nil, reportDate)} {
		for _, text := range append(pageTexts(compose(d)), written(t, JSON, d), written(t, WriteChanges, d)) {
			assert.NotRegexp(t, safe, text)
		}
	}
}

// pageTexts is everything a page says, in pictures too.
func pageTexts(p page) []string {
	texts := append([]string{p.Banner, p.Title, p.Headline, p.Foot}, p.Under...)
	for _, f := range p.Block {
		texts = append(texts, f.Name, f.Text)
	}
	for _, s := range p.Sections {
		texts = append(texts, s.Title)
		for _, r := range s.Rows {
			for _, pn := range r {
				texts = append(append(append(texts, pn.Sign), pn.Lines...), tableTexts(pn.Table)...)
				texts = append(texts, drawingTexts(pn.Picture)...)
			}
		}
	}
	return texts
}

func tableTexts(t *table) []string {
	if t == nil {
		return nil
	}
	texts := []string{t.Caption}
	for _, c := range t.Columns {
		texts = append(texts, c.Head)
	}
	for _, r := range t.Rows {
		for _, e := range r {
			texts = append(texts, e.Text)
		}
	}
	return texts
}

func drawingTexts(d *drawing) []string {
	if d == nil {
		return nil
	}
	texts := []string{d.title, d.desc}
	for _, m := range d.marks {
		if m.text.text != "" {
			texts = append(texts, m.text.text)
		}
	}
	return texts
}

// No figure on a page is a broken one.
func TestNoBrokenNumbers(t *testing.T) {
	for name, d := range oddJobs() {
		for _, text := range pageTexts(compose(d)) {
			for _, bad := range []string{"NaN", "Inf", "%!", "-0.00 ", "<nil>", "0001-01-01"} {
				assert.NotContains(t, text, bad, name)
			}
		}
	}
}

// oddJobs are jobs with little in them, or strange things.
func oddJobs() map[string]Data {
	jobs := map[string]Data{
		"whole": demoData(), "many": manyPositions(), "nothing measured": Build(demoSheet(), nil, reportDate),
		"empty sheet": Build(sheet.Sheet{}, demoCaptures(), reportDate),
	}
	for _, c := range demoCaptures() {
		jobs["only "+c.Feature+" "+c.Stage] = Build(demoSheet(), []record.Capture{renumbered(c)}, reportDate)
	}
	return jobs
}

func renumbered(c record.Capture) record.Capture {
	c.ID = 1
	return c
}

func TestOddJobsLayOut(t *testing.T) {
	for name, d := range oddJobs() {
		t.Run(name, func(t *testing.T) {
			for _, w := range writers {
				written(t, w.write, d)
			}
		})
	}
}

// A writer that fails is reported by every layout.
func TestWriterFails(t *testing.T) {
	for _, w := range writers {
		assert.ErrorIs(t, w.write(fullDisk{}, demoData()), errFull, w.file)
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

var errFull = io.ErrShortWrite

func TestInventedIsSaidEverywhere(t *testing.T) {
	d := demoData()
	assert.Contains(t, written(t, HTML, d), inventedBanner)
	assert.Contains(t, written(t, WriteChanges, d), inventedBanner)
	assert.Contains(t, written(t, JSON, d), `"invented": true`)
	assert.Equal(t, inventedBanner, compose(d).Banner)
	record := func(w io.Writer, d Data) error { return export.WriteRecordCSV(w, d.Sheet, demoCaptures()) }
	rows := strings.Split(strings.TrimSpace(written(t, record, d)), "\n")
	for _, row := range rows[1:] {
		assert.Contains(t, row, "(invented data)")
	}

	d.Sheet.Invented = false
	assert.NotContains(t, written(t, record, d), "(invented data)")
	assert.NotContains(t, written(t, HTML, d), inventedBanner)
	assert.NotContains(t, written(t, WriteChanges, d), inventedBanner)
	assert.Contains(t, written(t, JSON, d), `"invented": false`)
}

func TestSectionsWithoutDataAreLeftOut(t *testing.T) {
	var titles []string
	for _, s := range compose(Build(demoSheet(), nil, reportDate)).Sections {
		titles = append(titles, s.Title)
	}
	assert.Equal(t, []string{"Windows, gauges and uncertainty", "Cautions"}, titles)

	titles = nil
	for _, s := range compose(demoData()).Sections {
		titles = append(titles, s.Title)
	}
	assert.Equal(t, []string{"Summary", "Backlash around the wheel, stage by stage", "Stage changes, Adjuster history", "Run-out",
		"Bolt torque in sequence", "Contact pattern, Air test", "Skipped, repeated, noted and set aside", "Windows, gauges and uncertainty", "Cautions"}, titles)
}

func BenchmarkReport(b *testing.B) {
	d := demoData()
	for _, w := range writers {
		b.Run(strings.TrimPrefix(filepath.Ext(w.file), "."), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := w.write(io.Discard, d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkBuild builds from a journal of adjuster moves and rounds around them.
func BenchmarkBuild(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		j := &demoJob{}
		for len(j.captures) < n {
			j.backlash(record.StageSetUp, 0.16, 0.01, 20, 0.002)
			j.add(record.StageSetUp, record.FeatureMove, 0, 0, 1, 0, "notch")
		}
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			sheet := demoSheet()
			b.ReportAllocs()
			for b.Loop() {
				Build(sheet, j.captures, reportDate)
			}
		})
	}
}
