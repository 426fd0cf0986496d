package report

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A photo stands small in both reports, under its file's name.
func TestPhotosAreShown(t *testing.T) {
	red := image.NewRGBA(image.Rect(0, 0, 1200, 900))
	for i := range 1200 * 900 {
		red.Set(i%1200, i/1200, color.RGBA{R: 200, A: 255})
	}
	var photo bytes.Buffer
	require.NoError(t, jpeg.Encode(&photo, red, nil))
	note := record.Capture{ID: 1, Time: time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC), Stage: record.StageFinal, Feature: record.FeatureNote,
		Attachment: record.Attachment{Path: "attachments/0001-a.jpg", SHA256: strings.Repeat("ab", 32)}}
	d := Build(sheet.Sheet{}, []record.Capture{note}, time.Time{})
	plainPDF := written(t, PDF, d)
	d.AddPhoto(note, bytes.NewReader(photo.Bytes()))

	page := written(t, HTML, d)
	assert.Contains(t, page, `<image width="300" height="225" href="data:image/jpeg;base64,/9j/`)
	assert.Contains(t, page, "<li>Final, 0001-a.jpg.</li>")
	assert.Contains(t, page, "img-src data:")
	pdf := written(t, PDF, d)
	assert.NotContains(t, plainPDF, "/Subtype /Image")
	assert.Contains(t, pdf, "/Subtype /Image")
	assert.Contains(t, pdf, "/Width 560")
	assert.Equal(t, pdf, written(t, PDF, d), "the same data, the same bytes")
}

// What is no photo, not whole or too large to be decoded is left to its note.
func TestFilesThatAreNotShown(t *testing.T) {
	var photo bytes.Buffer
	require.NoError(t, jpeg.Encode(&photo, image.NewGray(image.Rect(0, 0, 40, 30)), nil))
	bomb := bytes.Clone(photo.Bytes())
	at := bytes.Index(bomb, []byte{0xff, 0xc0}) // the frame header: it says 65535 by 65535
	copy(bomb[at+5:], []byte{0xff, 0xff, 0xff, 0xff})
	d, x := Data{}, record.Capture{Attachment: record.Attachment{Path: "attachments/x.jpg"}}
	for _, file := range [][]byte{nil, []byte("%PDF-1.4"), photo.Bytes()[:photo.Len()/2], bomb} {
		d.AddPhoto(x, bytes.NewReader(file))
	}
	assert.Empty(t, d.photos)
	d.AddPhoto(x, bytes.NewReader(photo.Bytes()))
	assert.Len(t, d.photos, 1)
}
