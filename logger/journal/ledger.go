package journal

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"

	"crownlog/logger/record"
)

// A ledger is what stands in the lines of a captures.csv.
type ledger struct {
	captures []record.Capture
	entries  []Entry
	sum      chainSum // of the lines so far
	digest   Digest   // without Last; of a journal without a chain only Lines
	marked   int      // the line whose value is kept in mark; 0: none
	mark     chainSum
	cells    []string
}

// add takes a line with its value.
func (l *ledger) add(c record.Capture, sum chainSum) {
	l.sum = sum
	if l.digest.Lines++; l.digest.Lines == l.marked {
		l.mark = sum
	}
	if c.ID > 0 {
		l.captures = append(l.captures, c)
		return
	}
	l.entries = append(l.entries, Entry{Line: l.digest.Lines + 1, After: c.N, Kind: c.Feature, Path: c.Gauge, SHA256: c.Note, Mark: c.Quality})
	if l.digest.Job == "" {
		l.digest.Job, l.digest.First = c.Note, sum.String()
	}
}

// append takes a capture or a line of the chain's own and adds its line to dst.
func (l *ledger) append(dst []byte, c record.Capture) []byte {
	if c.ID == 0 {
		c.N = len(l.captures)
	}
	dst, sum := appendCapture(dst, c, l.sum)
	l.add(c, sum)
	return dst
}

// whole is the digest of all lines so far.
func (l *ledger) whole() Digest {
	d := l.digest
	if d.Last = l.sum.String(); d.Job == "" {
		return Digest{}
	}
	return d
}

// parse reads the cells of one checked line. covered is what its value is made
// of, and chain the value that it carries, "" where it carries none.
func (l *ledger) parse(text string) (c record.Capture, covered, chain string, err error) {
	if l.cells, err = splitCells(text, l.cells); err != nil {
		return c, "", "", err
	}
	covered = text
	if n := len(l.cells); n == partlessCells+1 || n == captureCells+1 {
		chain, l.cells = l.cells[n-1], l.cells[:n-1]
		covered = text[:len(text)-len(chain)-1]
	}
	c, err = parseCapture(l.cells)
	return c, covered, chain, err
}

// line takes one checked line. The IDs must run on from 1 without a gap, so that a
// line that has vanished is noticed, and once the chain has begun every line must
// follow from those before it.
func (l *ledger) line(text string) error {
	c, covered, chain, err := l.parse(text)
	sum := l.sum.next([]byte(covered))
	begun := l.digest.Job != ""
	switch {
	case err != nil:
		return err
	case c.ID == 0 && chain != "":
		err = checkEntry(c, len(l.captures), begun)
	case c.ID != len(l.captures)+1:
		err = fmt.Errorf("capture %d follows capture %d: a line is missing or doubled", c.ID, len(l.captures))
	default:
		err = checkCapture(c, len(l.captures))
	}
	if err == nil && (begun || chain != "") && (chain != sum.String() || !begun && c.ID > 0) {
		err = errChain
	}
	if err == nil {
		l.add(c, sum)
	}
	return err
}

// checkEntry refuses a line of the chain's own that this program does not write.
func checkEntry(c record.Capture, stored int, begun bool) error {
	known := strings.Contains(" "+EntryChain+" "+EntrySheet+" "+EntrySeal+" "+EntryRepair+" ", " "+c.Feature+" ")
	if !known || c.N != stored || c.Gauge != "" && !filepath.IsLocal(c.Gauge) || begun == (c.Feature == EntryChain) {
		return fmt.Errorf("no line of the chain: %q, %q", c.Feature, c.Gauge)
	}
	return nil
}

// agrees compares the journal at path with a digest of it, nil for none.
func (l *ledger) agrees(path string, last *Digest) error {
	reason, line := "", 0
	switch {
	case last == nil && l.digest.Job == "", last != nil && last.Lines == 0:
		return nil
	case last == nil:
		reason = digestFile + ", which says where it ends, is missing"
	case l.digest.Job == "":
		reason = "its chain is gone"
	case l.digest.Job != last.Job:
		reason = "it is another job's"
	case l.digest.Lines < last.Lines:
		reason, line = fmt.Sprintf("it has %d lines of the %d that were stored: lines are missing at the end", l.digest.Lines, last.Lines), l.digest.Lines+2
	case l.mark.String() != last.Last:
		reason, line = "the line is not the one that was stored", last.Lines+1
	default:
		return nil
	}
	return &DamageError{Path: path, Line: line, Reason: reason}
}

// readCaptures reads a whole captures.csv, of which last is a digest, nil for
// none. The ledger it returns is never nil.
func readCaptures(path string, r io.Reader, last *Digest) (l *ledger, sound int64, torn []byte, err error) {
	br := bufio.NewReaderSize(r, longestLine)
	header := headerOf(br)
	l = &ledger{sum: headerSum(header)}
	if last != nil {
		l.marked = last.Lines
	}
	sound, torn, err = scanJournal(path, br, header, l.line)
	if err == nil && sound == 0 { // a job folder is made with a whole header
		err = &DamageError{Path: path, Line: 1, Reason: "the file ends before its header does: its captures are gone"}
	}
	if err == nil {
		err = l.agrees(path, last)
	}
	if err != nil {
		return &ledger{}, sound, nil, err
	}
	return l, sound, torn, nil
}

// headerOf is the header a journal has, or ought to have.
func headerOf(r *bufio.Reader) string {
	head, _ := r.Peek(len("\ufeff") + len(captureHeader))
	text := strings.TrimPrefix(string(head), "\ufeff")
	for _, h := range olderHeaders {
		if strings.HasPrefix(text, h) || strings.HasPrefix(h, text) && !strings.HasPrefix(captureHeader, text) {
			return h
		}
	}
	return captureHeader
}

// noCaptures is why captures.csv cannot be opened; a missing one is damage.
func noCaptures(path string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return &DamageError{Path: path, Reason: "the file is missing", Err: fs.ErrNotExist}
	}
	return err
}
