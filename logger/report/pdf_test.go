package report

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// pdfStreams are the unpacked content streams of a PDF.
func pdfStreams(t *testing.T, pdf string) []string {
	t.Helper()
	var streams []string
	for part := range strings.SplitSeq(pdf, "stream\n") {
		body, _, _ := strings.Cut(part, "\nend")
		r, err := zlib.NewReader(strings.NewReader(body))
		if err != nil {
			continue
		}
		var b bytes.Buffer
		if _, err := io.Copy(&b, r); err == nil {
			streams = append(streams, b.String())
		}
	}
	return streams
}

func pdfPages(t *testing.T, pdf string) int {
	t.Helper()
	m := regexp.MustCompile(`/Type /Pages\s[^>]*/Count (\d+)`).FindStringSubmatch(pdf)
	require.NotNil(t, m)
	n, err := strconv.Atoi(m[1])
	require.NoError(t, err)
	return n
}

func TestPDFPages(t *testing.T) {
	for _, tc := range []struct {
		name string
		data Data
		want int
	}{
		{"the whole demonstration job", demoData(), 3},
		{"41 positions", manyPositions(), 2},
		{"nothing measured", Build(demoSheet(), nil, reportDate), 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			pdf := written(t, PDF, tc.data)
			require.True(t, strings.HasPrefix(pdf, "%PDF-"))
			require.True(t, strings.HasSuffix(strings.TrimSpace(pdf), "%%EOF"))
			assert.Equal(t, tc.want, pdfPages(t, pdf))
			assert.Less(t, len(pdf), 120_000)
		})
	}
}

// The pictures are paths, never pixels.
func TestPDFIsVector(t *testing.T) {
	pdf := written(t, PDF, demoData())
	assert.NotContains(t, pdf, "/Subtype /Image")
	curves := 0
	for _, s := range pdfStreams(t, pdf) {
		curves += len(regexp.MustCompile(`(?m) c$`).FindAllString(s, -1))
	}
	assert.Greater(t, curves, 500)
}

func TestPDFDate(t *testing.T) {
	d := demoData()
	first := written(t, PDF, d)
	assert.Contains(t, first, "D:20260314163000")
	d.Made = d.Made.Add(24 * time.Hour)
	assert.NotEqual(t, first, written(t, PDF, d))
}

// A table longer than a page goes on over the next ones, each row once.
func TestPDFLongTable(t *testing.T) {
	j := &demoJob{}
	for range 200 {
		j.add(record.StageFinal, record.FeatureNote, 0, 0, 0, 0, "").Note = "one of many notes"
	}
	d := Build(demoSheet(), j.captures, reportDate)
	assert.GreaterOrEqual(t, pdfPages(t, written(t, PDF, d)), 4)
}

func TestWrap(t *testing.T) {
	l := newPDFLayout(demoData(), "")
	l.font(8, false, colourInk)
	for _, tc := range []struct {
		name, text string
		width      float64
		want       []string
	}{
		{"nothing", "", 50, []string{""}},
		{"fits", "short text", 50, []string{"short text"}},
		{"at a space", "backlash around the wheel", 22, []string{"backlash around", "the wheel"}},
		{"a long word", "aaaaaaaaaaaaaaaaaaaa", 10, []string{"aaaaaa", "aaaaaa", "aaaaaa", "aa"}},
		{"beyond the font's table", "truck 🚚", 50, []string{"truck ?"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got := l.wrap(tc.text, tc.width)
			assert.Equal(t, tc.want, got)
			for _, line := range got {
				assert.LessOrEqual(t, l.p.GetStringWidth(line), tc.width)
			}
		})
	}
}

// The columns of a table share its whole width, and no figure is broken.
func TestColumnWidths(t *testing.T) {
	l := newPDFLayout(demoData(), "")
	tb := &table{Columns: []column{{"", false}, {"Value", true}, {"Note", false}}, Rows: [][]entry{
		{plain("set up"), plain("0.153 mm ± 0.004"), plain(strings.Repeat("many words ", 30))}, {plain("final"), plain("2"), plain("")}}}
	for _, width := range []float64{40, 80, 186} {
		widths := l.columnWidths(tb, []entry{plain(""), plain("Value"), plain("Note")}, width)
		assert.InDelta(t, width, widths[0]+widths[1]+widths[2], 1e-9)
		l.cellFont(plain(""), 1, false)
		if width > 40 {
			assert.Len(t, l.wrap("0.153 mm ± 0.004", widths[1]-2*pdfPad), 1)
			assert.Greater(t, widths[2], 30.0)
		}
	}
}
