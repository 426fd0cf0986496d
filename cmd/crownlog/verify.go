package main

import (
	"archive/zip"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"crownlog/logger/verify"
)

type verifyCmd struct {
	Path   string `arg:"" help:"Job folder, or a .zip of one."`
	Digest string `help:"A captures.digest that was kept elsewhere: the record up to there must be that one." placeholder:"FILE"`
	JSON   bool   `name:"json" help:"Print one JSON object."`
}

// Run says whether the record is the one that was made.
func (c *verifyCmd) Run(con *console) error {
	dir := c.Path
	if strings.EqualFold(filepath.Ext(dir), ".zip") {
		tmp, err := os.MkdirTemp("", "crownlog-verify-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(tmp)
		if dir, err = unpack(dir, tmp); err != nil {
			return usagef("give a job folder that was packed into a .zip", "%s: %w", c.Path, err)
		}
	}
	r, err := verify.Job(dir, c.Digest, time.Now())
	if err != nil {
		return err
	}
	if !r.Sound {
		err = &hinted{code: exitRecord, err: fmt.Errorf("%s: the record is not sound", c.Path)}
	}
	if c.JSON {
		return errors.Join(con.json(r), err)
	}
	for _, f := range r.Findings {
		word, at := "note", f.Path
		if f.Broken {
			word = "NOT SOUND"
		}
		if f.Line > 0 {
			at = fmt.Sprintf("%s:%d", f.Path, f.Line)
		}
		fmt.Fprintf(con.out, "%s  %s: %s\n", word, at, f.Text)
	}
	if r.Sound {
		fmt.Fprintf(con.out, "%s is sound: %s, of which the readings gave %d again\n", c.Path, count(r.Captures, "capture"), r.Replayed)
	}
	fmt.Fprintf(con.out, "job %s, lines %d\nfirst %s\nlast %s\n%s\n", r.Digest.Job, r.Digest.Lines, r.Digest.First, r.Digest.Last, verify.Limits)
	return err
}

// mostUnpacked bounds what a packed job may become on the disk: a day of readings
// from four gauges.
const mostUnpacked = 8 << 30

// unpack writes a packed job into dir, and returns its folder: dir, or the one
// folder in it. A path that leads out of dir is refused, and no file gives more
// bytes than it says it has.
func unpack(path, dir string) (string, error) {
	z, err := zip.OpenReader(path)
	if err != nil {
		return "", err
	}
	defer z.Close()
	size := uint64(0)
	for _, f := range z.File {
		if size += f.UncompressedSize64; size > mostUnpacked || f.UncompressedSize64 > mostUnpacked {
			return "", errors.New("it unpacks to more than 8 GiB")
		}
	}
	if err := os.CopyFS(dir, z); err != nil {
		return "", err
	}
	if in, err := os.ReadDir(dir); err == nil && len(in) == 1 {
		dir = filepath.Join(dir, in[0].Name())
	}
	return dir, nil
}
