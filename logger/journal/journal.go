package journal

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"strings"
)

// A journal line is RFC 4180 CSV on one physical line, with a check value:
//
//	cell,cell,...,cell,crc\r\n
//	|------covered------|
//
// crc is CRC-32 (IEEE 802.3) of the covered bytes in eight lower-case hex
// digits. A cell never holds a line break, so a line is whole or it is torn:
// power loss can only leave a piece of the last line, or zeros where it would
// have been.
const (
	crcDigits = 8
	lineEnd   = "\r\n"
)

// appendCell adds a cell, quoted where RFC 4180 asks for it, and a comma.
func appendCell(dst []byte, s string) []byte {
	if strings.ContainsAny(s, ",\"\r\n") || strings.HasPrefix(s, " ") || strings.HasSuffix(s, " ") {
		s = `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
	}
	return append(append(dst, s...), ',')
}

// sealLine ends a line whose cells, each followed by a comma, start at from.
func sealLine(dst []byte, from int) []byte {
	covered := dst[from : len(dst)-1]
	dst = appendCRC(dst, crc32.ChecksumIEEE(covered))
	return append(dst, lineEnd...)
}

func appendCRC(dst []byte, sum uint32) []byte {
	return hex.AppendEncode(dst, binary.BigEndian.AppendUint32(nil, sum))
}

var (
	errLineEnd = errors.New("line end is not CR LF")
	errCRC     = errors.New("check value does not agree with the line")
	errQuoting = errors.New("quotes do not match")
)

// openLine checks a line without its LF and returns the covered cells.
func openLine(line []byte) ([]byte, error) {
	body, ok := bytes.CutSuffix(line, []byte("\r"))
	if !ok {
		return nil, errLineEnd
	}
	return checkedCells(body)
}

// checkedCells cuts the check value off a line without its end and verifies it.
func checkedCells(body []byte) ([]byte, error) {
	cut := len(body) - crcDigits - 1
	if cut < 0 || body[cut] != ',' {
		return nil, errCRC
	}
	var want [crcDigits]byte
	appendCRC(want[:0], crc32.ChecksumIEEE(body[:cut]))
	if !bytes.Equal(want[:], body[cut+1:]) {
		return nil, errCRC
	}
	return body[:cut], nil
}

// tornTail reports whether what follows the last line feed is an unfinished
// write. It is not when a whole checked line stands there with a wrong ending:
// that is damage to a line that had been finished.
func tornTail(tail []byte) bool {
	if len(tail) < 2 {
		return true
	}
	_, err := checkedCells(tail[:len(tail)-2])
	return err != nil
}

// splitCells takes the cells of a checked line apart into dst[:0].
func splitCells(line string, dst []string) ([]string, error) {
	dst = dst[:0]
	for more := true; more; {
		var cell string
		if strings.HasPrefix(line, `"`) {
			end := closingQuote(line)
			if end < 0 {
				return dst, errQuoting
			}
			cell = strings.ReplaceAll(line[1:end], `""`, `"`)
			line, more = strings.CutPrefix(line[end+1:], ",")
		} else if cell, line, more = strings.Cut(line, ","); strings.Contains(cell, `"`) {
			return dst, errQuoting
		}
		dst = append(dst, cell)
	}
	return dst, nil
}

// closingQuote is where the quoted cell at the beginning of line ends: a quote
// that is not doubled, with a comma or nothing behind it; -1 where there is none.
func closingQuote(line string) int {
	for i := 1; i < len(line); i++ {
		switch rest := line[i+1:]; {
		case line[i] != '"':
		case strings.HasPrefix(rest, `"`):
			i++
		case rest == "" || rest[0] == ',':
			return i
		default:
			return -1
		}
	}
	return -1
}

// errStopped is returned by a line function that wants no more lines.
var errStopped = errors.New("reading stopped")

// longestLine is far above any line of a job, and no load for any computer: the
// longest note on a command line has 128 KiB.
const longestLine = 1 << 20

// scanJournal reads a journal and hands the cells of each checked line after
// the header to line. It returns the length of the sound
// part and the torn tail, if any. A line that fails its check is a
// *DamageError; an error of r is returned as it is.
func scanJournal(path string, r io.Reader, header string, line func(cells string) error) (sound int64, torn []byte, err error) {
	br := bufio.NewReaderSize(r, longestLine)
	for n := 1; ; n++ {
		text, err := br.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			return sound, nil, &DamageError{Path: path, Line: n, Reason: "the line is longer than 1 MiB: no journal has such lines"}
		}
		if err == io.EOF {
			return finishJournal(path, n, sound, header, text)
		}
		if err != nil {
			return sound, nil, err
		}
		if n == 1 {
			if string(text) != header+lineEnd {
				return 0, nil, headerDamage(path, header, text)
			}
		} else {
			cells, err := openLine(text[:len(text)-1])
			if err == nil {
				err = line(string(cells))
			}
			if errors.Is(err, errStopped) {
				return sound, nil, err
			}
			if err != nil {
				return sound, nil, &DamageError{Path: path, Line: n, Reason: err.Error()}
			}
		}
		sound += int64(len(text))
	}
}

// finishJournal judges what stands after the last line feed.
func finishJournal(path string, n int, sound int64, header string, tail []byte) (int64, []byte, error) {
	switch {
	case n == 1 && !strings.HasPrefix(header+lineEnd, string(tail)):
		return 0, nil, headerDamage(path, header, tail)
	case len(tail) == 0:
		return sound, nil, nil
	case n > 1 && !tornTail(tail):
		return sound, nil, &DamageError{Path: path, Line: n, Reason: errLineEnd.Error()}
	}
	return sound, tail, nil
}

// headerDamage says what is wrong with the first line, also where it looks the
// same on the screen.
func headerDamage(path, header string, text []byte) error {
	reason := fmt.Sprintf("header is not %q", header)
	switch line := string(text); {
	case strings.HasPrefix(line, "\ufeff"):
		reason = "a byte order mark stands before the header: another program has saved the file"
	case line == header+"\n":
		reason = "the header ends in LF, not CR LF: another program has changed the line ends"
	case strings.HasPrefix(line, header+"\r") && !strings.HasPrefix(line, header+lineEnd):
		reason = "the header ends in CR, not CR LF: another program has changed the line ends"
	}
	return &DamageError{Path: path, Line: 1, Reason: reason}
}
