package report

import (
	"bytes"
	"cmp"
	"errors"
	"image"
	"image/jpeg"
	"io"
	"path"

	"golang.org/x/image/draw"

	"crownlog/logger/record"
)

const (
	photoSide   = 560        // pixels of the longer side: about 250 an inch at a third of a page
	photoPixels = 50_000_000 // of a photo that is made small; a larger one could take all memory
)

// AddPhoto puts a small picture of the JPEG photo that c attached into d, below it
// its stage and what it shows; any other file is left to its note.
func (d *Data) AddPhoto(c record.Capture, file io.ReadSeeker) {
	size, err := jpeg.DecodeConfig(file) // before any pixel takes memory
	if err != nil || size.Width*size.Height > photoPixels {
		return
	}
	_, sought := file.Seek(0, io.SeekStart)
	whole, err := jpeg.Decode(file)
	if errors.Join(sought, err) != nil {
		return
	}
	longer := max(size.Width, size.Height, photoSide)
	scaled := image.NewRGBA(image.Rect(0, 0, max(size.Width*photoSide/longer, 1), max(size.Height*photoSide/longer, 1)))
	draw.ApproxBiLinear.Scale(scaled, scaled.Bounds(), whole, whole.Bounds(), draw.Src, nil)
	var small bytes.Buffer
	_ = jpeg.Encode(&small, scaled, nil) // into memory
	high := 300 * float64(size.Height) / float64(size.Width)
	picture := &drawing{width: 300, height: high, title: path.Base(c.Attachment.Path), desc: "An attached photo."}
	picture.marks = []mark{{photo: small.Bytes(), kind: "jpeg"}}
	below := upperFirst(stageTitle(c.Stage)) + ", " + cmp.Or(c.Note, picture.title) + "."
	d.photos = append(d.photos, panel{Share: 1, Picture: picture, Lines: []string{below}})
}
