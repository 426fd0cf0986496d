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
		{"the whole demonstration job", demoData(), 2},
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
	l := newPDFLayout(demoData())
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

func TestShareOut(t *testing.T) {
	for _, tc := range []struct {
		name                 string
		least, natural, want []float64
		width                float64
	}{
		{"room for all", []float64{10, 10}, []float64{20, 30}, []float64{35, 45}, 80},
		{"room for part", []float64{10, 10}, []float64{20, 40}, []float64{15, 25}, 40},
		{"too narrow", []float64{20, 20}, []float64{30, 30}, []float64{10, 10}, 20},
		{"exact", []float64{20, 20}, []float64{20, 20}, []float64{20, 20}, 40},
	} {
		t.Run(tc.name, func(t *testing.T) {
			assert.InDeltaSlice(t, tc.want, shareOut(tc.least, tc.natural, tc.width), 1e-9)
		})
	}
}
