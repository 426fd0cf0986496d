package report

import (
	"bytes"
	"cmp"
	"errors"
	"image"
	"image/jpeg"
	"io"
	"path"

	"github.com/bep/imagemeta"
	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"

	"crownlog/logger/record"
)

const (
	photoSide   = 560        // pixels of the longer side: about 250 an inch at a third of a page
	photoPixels = 50_000_000 // of a photo that is made small; a larger one could take all memory
)

// AddPhoto puts a small picture of the JPEG photo that c attached into d, upright, below it
// its stage and what it shows; any other file is left to its note.
func (d *Data) AddPhoto(c record.Capture, file io.ReadSeeker) {
	size, err := jpeg.DecodeConfig(file) // before any pixel takes memory
	if err != nil || size.Width*size.Height > photoPixels {
		return
	}
	turn := orientation(file)
	_, sought := file.Seek(0, io.SeekStart)
	whole, err := jpeg.Decode(file)
	if errors.Join(sought, err) != nil {
		return
	}
	scale := min(1, photoSide/float64(max(size.Width, size.Height)))
	wide, high := scale*float64(size.Width), scale*float64(size.Height)
	upright, across, up := uprights(scale, wide, high)[turn], wide, high
	if upright[0] == 0 { // on its side
		across, up = high, wide
	}
	scaled := image.NewRGBA(image.Rect(0, 0, max(int(across), 1), max(int(up), 1)))
	draw.ApproxBiLinear.Transform(scaled, upright, whole, whole.Bounds(), draw.Src, nil)
	var small bytes.Buffer
	_ = jpeg.Encode(&small, scaled, nil) // into memory
	picture := &drawing{width: 300, height: 300 * up / across, title: path.Base(c.Attachment.Path), desc: "An attached photo."}
	picture.marks = []mark{{photo: small.Bytes(), kind: "jpeg"}}
	below := upperFirst(stageTitle(c.Stage)) + ", " + cmp.Or(c.Note, picture.title) + "."
	d.photos = append(d.photos, panel{Share: 1, Picture: picture, Lines: []string{below}})
}

// orientation says which way the camera was held, 1 to 8, 1 where the file does not
// say (CIPA DC-008, Exif, tag 0x0112).
func orientation(file io.ReadSeeker) uint16 {
	turn := uint16(1)
	_, err := file.Seek(0, io.SeekStart)
	if err != nil {
		return turn
	}
	_, _ = imagemeta.Decode(imagemeta.Options{ // what it can't read says nothing
		R: file, ImageFormat: imagemeta.JPEG, Sources: imagemeta.EXIF,
		ShouldHandleTag: func(tag imagemeta.TagInfo) bool { return tag.Tag == "Orientation" && tag.Namespace == "IFD0" },
		HandleTag: func(tag imagemeta.TagInfo) error {
			if n, ok := tag.Value.(uint16); ok && n >= 1 && n <= 8 {
				turn = n
			}
			return nil
		},
	})
	return turn
}

// uprights are the ways, by orientation, from the pixels of a photo to the same
// photo scaled and upright: as wide and high as it lies in its file.
func uprights(scale, wide, high float64) [9]f64.Aff3 {
	return [9]f64.Aff3{
		1: {scale, 0, 0, 0, scale, 0},
		2: {-scale, 0, wide, 0, scale, 0},
		3: {-scale, 0, wide, 0, -scale, high},
		4: {scale, 0, 0, 0, -scale, high},
		5: {0, scale, 0, scale, 0, 0},
		6: {0, -scale, high, scale, 0, 0},
		7: {0, -scale, high, -scale, 0, wide},
		8: {0, scale, 0, -scale, 0, wide},
	}
}
