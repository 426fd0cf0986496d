package report

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"slices"
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
	d := Build(sheet.Sheet{}, []record.Capture{note}, note.Time)
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

// A photo stands upright however the camera was held. Which side of what is seen the
// first row and the first column are: CIPA DC-008-2024 (Exif 3.0), 4.6.5.1.5
// Orientation, from memory.
func TestPhotosStandUpright(t *testing.T) {
	stored := image.NewRGBA(image.Rect(0, 0, 80, 40))
	draw.Draw(stored, image.Rect(0, 0, 40, 20), image.White, image.Point{}, draw.Src) // where both begin
	var plain bytes.Buffer
	require.NoError(t, jpeg.Encode(&plain, stored, nil))
	sides := map[string]image.Point{"left": {X: -1}, "right": {X: 1}, "top": {Y: -1}, "bottom": {Y: 1}}
	for turn, first := range [][2]string{
		1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"},
		5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"}, 9: {"top", "left"},
	} {
		if turn == 0 {
			continue
		}
		exif := []byte("\xff\xe1\x00\x22Exif\x00\x00MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00?\x00\x00\x00\x00\x00\x00")
		exif[bytes.IndexByte(exif, '?')] = byte(turn)
		file := slices.Concat(plain.Bytes()[:2], exif, plain.Bytes()[2:])
		var d Data
		d.AddPhoto(record.Capture{Attachment: record.Attachment{Path: "attachments/x.jpg"}}, bytes.NewReader(file))
		require.Len(t, d.photos, 1)
		shown, err := jpeg.Decode(bytes.NewReader(d.photos[0].Picture.marks[0].photo))
		require.NoError(t, err)

		size := shown.Bounds().Size()
		row, column := sides[first[0]], sides[first[1]]
		assert.Equal(t, row.X != 0, size.Y > size.X, "orientation %d", turn)
		for _, corner := range []image.Point{{-1, -1}, {1, -1}, {-1, 1}, {1, 1}} {
			light, _, _, _ := shown.At(size.X/2+corner.X*size.X/4, size.Y/2+corner.Y*size.Y/4).RGBA()
			assert.Equal(t, corner == row.Add(column), light > 0x8000, "orientation %d at %v", turn, corner)
		}
	}
}
