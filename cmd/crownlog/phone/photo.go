package phone

import (
	"bytes"
	"errors"
	"fmt"
	"image/jpeg"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"crownlog/logger/record"
)

const (
	mostPixels   = 50_000_000
	mostWords    = 60 // bytes, of what it is of
	photoQuality = 92 // of a photo written anew: what that loses is not seen. Common practice, no source.
)

var errNoPhoto = errors.New("it is not a whole JPEG picture")

// keepPhoto stores a photo with the step at hand. It runs beside the round, which
// waits for nothing but its own turn at the journal.
func (s *Server) keepPhoto(w http.ResponseWriter, r *http.Request) {
	what := r.URL.Query().Get("what") // as the page words it
	if !s.desk.has(r.URL.Query().Get("page")) {
		refuse(w, errOther)
		return
	}
	if !s.photo.TryLock() { // one at a time: each takes its pixels' worth of memory
		refuse(w, errors.New("the last photo is still being stored"))
		return
	}
	defer s.photo.Unlock()
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostPhoto))
	if err == nil {
		data, err = cleanPhoto(data)
	}
	if err == nil {
		err = s.attach(data, what[:min(len(what), mostWords)])
	}
	if err != nil {
		refuse(w, fmt.Errorf("the photo is not stored: %w", err))
	}
}

// cleanPhoto looks whether data is a whole photo of a size that can be shown, and
// writes it anew: what comes out has pixels and nothing else, so not where it was
// taken either. Who wants to keep that attaches the phone's own file.
func cleanPhoto(data []byte) ([]byte, error) {
	size, err := jpeg.DecodeConfig(bytes.NewReader(data)) // before any pixel takes memory
	if err != nil {
		return nil, errNoPhoto
	}
	if size.Width*size.Height > mostPixels {
		return nil, fmt.Errorf("it has more than %d million pixels", mostPixels/1_000_000)
	}
	picture, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, errNoPhoto
	}
	var clean bytes.Buffer
	err = jpeg.Encode(&clean, picture, &jpeg.Options{Quality: photoQuality})
	return clean.Bytes(), err
}

// attach puts a photo into the job, with a name and a note that say of what.
func (s *Server) attach(data []byte, what string) error {
	v := s.cfg.Hub.Latest()
	name, text := "photo-"+v.Feature, "photo of "+what+", "+record.Title(v.Feature)
	if p, ok := current(v); ok {
		name, text = fmt.Sprintf("%s-%d", name, p.Index), text+", "+p.Label
	}
	dir, err := os.MkdirTemp("", "crownlog-photo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, name+".jpg")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		return err
	}
	_, err = s.cfg.Attach(v.Stage, path, text, time.Now())
	return err
}
