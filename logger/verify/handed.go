package verify

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"crownlog/logger/journal"
)

// SignedDigest, with a number, is a digest that somebody has signed; its signature
// has .sig behind that name.
const SignedDigest = "captures.digest.signed-"

// SignatureOf is the namespace of the signatures: one made for something else is none.
const SignatureOf = "crownlog"

// handed looks at what comes with a job that was handed over: the list of its files,
// and signatures. A key shows itself: whose it is, nothing in the folder can show.
func (r *Result) handed() {
	sums, _ := journal.ReadSheet(filepath.Join(r.dir, journal.SumsFile))
	for line := range strings.Lines(string(sums)) {
		sum, name, _ := strings.Cut(strings.TrimSpace(line), "  ")
		if !filepath.IsLocal(name) {
			r.add(true, journal.SumsFile, 0, "%q is no file of a job", name)
		} else if problem := journal.FileProblem(filepath.Join(r.dir, name), sum); problem != "" {
			r.add(true, name, 0, "the file %s since the job was packed, by %s", problem, journal.SumsFile)
		}
	}
	files, _ := os.ReadDir(r.dir) // it has been read
	for _, e := range files {
		name, signs := strings.CutSuffix(e.Name(), ".sig")
		if !signs || !strings.HasPrefix(name, SignedDigest) {
			continue
		}
		path, sig := filepath.Join(r.dir, name), filepath.Join(r.dir, e.Name())
		if err := journal.Kept(r.dir, path); err != nil {
			if !r.damaged(err) {
				r.add(true, r.inside(path), 0, "%v", err)
			}
			continue
		}
		digest, _ := journal.ReadSheet(path) // Kept has read it
		check := exec.Command("ssh-keygen", "-Y", "check-novalidate", "-n", SignatureOf, "-s", sig)
		check.Stdin = bytes.NewReader(digest)
		told, err := check.CombinedOutput()
		said := strings.Join(strings.Fields(string(told)), " ")
		switch {
		case errors.Is(err, exec.ErrNotFound):
			r.add(false, r.inside(sig), 0, "not looked at: there is no ssh-keygen here")
		case err != nil:
			r.add(true, r.inside(sig), 0, "it is no signature of %s: %s", filepath.Base(path), said)
		default:
			r.add(false, r.inside(sig), 0, "SIGNED, the record up to there: %s", said)
		}
	}
}
