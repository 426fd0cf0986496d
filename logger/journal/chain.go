package journal

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// A chainSum is the value of a line, which depends on all lines before it:
//
//	of the header   SHA-256 of the header line, without its end
//	of a line       SHA-256 of the value before in hex, a comma, and the line up to its value
//
// A line that ends in "...,value,crc" carries it; those of jobs begun before there
// was a chain carry none, and are covered by the first line that does. That line
// names the job by a random number, so that lines of two jobs never agree.
type chainSum [sha256.Size]byte

func headerSum(header string) chainSum { return sha256.Sum256([]byte(header)) }

// next is the value of the line with these cells.
func (s chainSum) next(cells []byte) chainSum {
	buf := hex.AppendEncode(make([]byte, 0, 512), s[:])
	return sha256.Sum256(append(append(buf, ','), cells...))
}

func (s chainSum) String() string { return hex.EncodeToString(s[:]) }

var errChain = errors.New("the line does not follow from the lines before it: one of them was changed, or lines were removed, doubled, moved or taken from another job")

// The kinds of an Entry.
const (
	EntryChain  = "chain"  // the chain begins; SHA256 is the random number of the job
	EntrySheet  = "sheet"  // what follows was done under this job.toml
	EntrySeal   = "seal"   // the readings at Path are complete
	EntryRepair = "repair" // the journal was mended; Path is the damaged one
)

// What Entry.Mark says.
const (
	MarkLate   = "late"   // of a seal: by another run than the one that made the readings
	MarkEdited = "edited" // of a repair: the first damage was a line that agreed with its check value and not with those before it; no disk does that
)

// An Entry is a line of captures.csv that is no capture but the record's own
// book-keeping. It has number 0, the captures before it in n, the path in gauge,
// the hash in note and the mark in quality.
type Entry struct {
	Line   int // of captures.csv, 1-based
	After  int // the number of the last capture before it
	Kind   string
	Path   string // of the file it is about, inside the job folder, with slashes
	SHA256 string // of that file
	Mark   string
}

// A Digest stands for a whole journal: whoever has it can tell whether a copy is
// the one it was made of, up to that line.
type Digest struct {
	Job   string `json:"job"`   // the random number of the job, 32 hexadecimal digits; "": the journal has no chain yet
	First string `json:"first"` // value of the first line that has one, 64 digits
	Last  string `json:"last"`  // value of the last line
	Lines int    `json:"lines"` // behind the header
}

// digestFile is the digest of captures.csv as it was after the last line. It is
// written over in place and not synced, for what it is about is: after a power
// loss it may name an earlier line, never a later one.
const digestFile = "captures.digest"

// Text is what captures.digest holds. It is always of the same length, so that it
// is written in one piece over the one before.
func (d Digest) Text() string {
	none := strings.Repeat("0", 2*sha256.Size)
	return fmt.Sprintf("crownlog journal 2\r\njob %s\r\nfirst %s\r\nlast %s\r\nlines %010d\r\n", d.Job, cmp.Or(d.First, none), cmp.Or(d.Last, none), d.Lines)
}

var digestText = regexp.MustCompile(`^crownlog journal 2\r\njob ([0-9a-f]{32})\r\nfirst ([0-9a-f]{64})\r\nlast ([0-9a-f]{64})\r\nlines (\d{10})\r\n$`)

// readDigest reads a captures.digest, nil where there is none.
func readDigest(path string) (*Digest, error) {
	text, err := ReadSheet(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("open digest %s: %w", path, err)
	}
	m := digestText.FindStringSubmatch(string(text))
	if m == nil {
		return nil, &DamageError{Path: path, Reason: "it is not as this program writes it"}
	}
	lines, _ := strconv.Atoi(m[4]) // ten digits
	return &Digest{Job: m[1], First: m[2], Last: m[3], Lines: lines}, nil
}

// digestOf reads the captures.digest of a job folder.
func digestOf(dir string) (*Digest, error) { return readDigest(filepath.Join(dir, digestFile)) }
