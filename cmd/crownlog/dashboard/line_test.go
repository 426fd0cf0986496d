package dashboard

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A wireTty keeps what is written and gives what is typed.
type wireTty struct {
	tcell.Tty
	sent    string
	typed   chan string
	drained bool
}

func newWire() (*wireTty, *frugalLine) {
	w := &wireTty{typed: make(chan string, 8)}
	return w, newLine(w)
}

func (w *wireTty) Write(b []byte) (int, error) { w.sent += string(b); return len(b), nil }
func (w *wireTty) Read(b []byte) (int, error)  { return copy(b, <-w.typed), nil }
func (w *wireTty) Drain() error                { w.drained = true; return nil }

// took returns what was sent since the last call.
func (w *wireTty) took() string {
	sent := w.sent
	w.sent = ""
	return sent
}

func TestLineLeavesOutWhatChangesNothing(t *testing.T) {
	w, l := newWire()
	l.answers = true
	write := func(s string) string {
		n, err := l.Write([]byte(s))
		require.NoError(t, err)
		assert.Equal(t, len(s), n)
		l.withoutAnswers([]byte(iAmWell))
		return w.took()
	}
	assert.Equal(t, "\x1b[?1000h", write("\x1b[?1000h"), "no frame, no question")
	assert.Equal(t, hideCursor+"\x1b[mA"+hideCursor+areYouWell, write(hideCursor+"\x1b(B\x1b[m"+noLink+"A"+hideCursor))
	assert.Equal(t, "\x1b[mB"+areYouWell, write(hideCursor+"\x1b(B\x1b[mB"), "the cursor is hidden already")
	assert.Empty(t, write(hideCursor+hideCursor), "nothing changed")
	assert.Equal(t, "C"+showCursor+areYouWell, write(hideCursor+"C"+showCursor))
	assert.Equal(t, hideCursor+"D"+areYouWell, write(hideCursor+"D"), "it was shown")
	assert.Equal(t, lineSet+"q"+plainSet+areYouWell, write(hideCursor+lineSet+"q"+plainSet), "the character set matters where line drawing is used")
	assert.Equal(t, "E"+plainSet+areYouWell, write(hideCursor+"E"+plainSet))
}

func TestAnswersAreNotKeys(t *testing.T) {
	for _, tt := range []struct {
		name  string
		asked int
		known bool // the terminal has answered before
		reads []string
		want  []string
	}{
		{"alone", 1, true, []string{iAmWell, "x"}, []string{"x"}},
		{"between keys", 1, true, []string{"a" + iAmWell + "b"}, []string{"ab"}},
		{"in pieces", 1, true, []string{"\x1b", "[0", "n", "x"}, []string{"x"}},
		{"first, in pieces", 1, false, []string{"\x1b[", "0n", "x"}, []string{"x"}},
		{"an arrow key in pieces", 1, true, []string{"\x1b", "[A"}, []string{"\x1b[A"}},
		{"two", 2, true, []string{iAmWell + iAmWell + "x"}, []string{"x"}},
		{"late", 0, true, []string{iAmWell + "x"}, []string{"x"}},
		{"escape, with nothing on its way", 0, true, []string{"\x1b"}, []string{"\x1b"}},
		{"escape, to a terminal that never answered", 1, false, []string{"\x1b"}, []string{"\x1b"}},
		{"escape before the answer", 1, true, []string{"\x1b", iAmWell}, []string{"\x1b"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w, l := newWire()
			l.asked, l.answers = tt.asked, tt.known
			for _, s := range tt.reads {
				w.typed <- s
			}
			buf := make([]byte, 128)
			for _, want := range tt.want {
				n, err := l.Read(buf)
				require.NoError(t, err)
				assert.Equal(t, want, string(buf[:n]))
			}
		})
	}
}

func TestFrameWaitsForTheOneBefore(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w, l := newWire()
		frame := func() { l.Write([]byte(hideCursor + "frame")) }
		answer := func(after time.Duration) {
			time.Sleep(after)
			l.withoutAnswers([]byte(iAmWell))
		}
		waits := func(want time.Duration, why string) {
			t.Helper()
			start := time.Now()
			l.send(t.Context())
			assert.InDelta(t, want, time.Since(start), float64(5*time.Millisecond), why)
		}
		frame()
		assert.Equal(t, areYouWell, w.took(), "nobody knows yet whether it answers")
		waits(patience/4, "it does not answer")
		assert.Equal(t, hideCursor+"frame", w.took())
		frame()
		assert.Equal(t, "frame", w.took(), "a terminal that does not answer is not asked again")
		answer(0)
		frame()
		frame()
		go answer(300 * time.Millisecond)
		assert.Equal(t, "frame"+areYouWell, w.took(), "the second waits")
		waits(300*time.Millisecond+patience, "the second answer was lost")
		assert.Equal(t, "frame"+areYouWell, w.took())
		waits(0, "nothing is on its way")
		frame()
		frame()
		go answer(100 * time.Millisecond)
		start := time.Now()
		require.NoError(t, l.Drain())
		assert.InDelta(t, 100*time.Millisecond, time.Since(start), float64(5*time.Millisecond), "no answer is left for the shell")
		assert.True(t, w.drained)
		assert.Equal(t, "frame"+areYouWell, w.took(), "what was not sent is not wanted any more")
		frame()
		assert.Equal(t, "frame", w.took(), "the end asks nothing")
	})
}

// However slow the line is, no more is on its way than a second takes, and no
// escape sequence is cut in two.
func TestScreenfulGoesInPieces(t *testing.T) {
	w, l := newWire()
	l.answers = true
	row := "\x1b[12;1H" + strings.Repeat("x", 80)
	page := hideCursor + strings.Repeat(row, 30)
	l.Write([]byte(page))
	all := ""
	for sent := w.took(); sent != ""; sent = w.took() {
		text, asked := strings.CutSuffix(sent, areYouWell)
		assert.True(t, asked)
		assert.LessOrEqual(t, len(text), mostAhead)
		assert.True(t, strings.HasPrefix(text, "\x1b["))
		all += text
		l.withoutAnswers([]byte(iAmWell))
		if len(l.rest) > 0 {
			<-l.more
			l.piece()
			l.more <- struct{}{}
		}
	}
	assert.Equal(t, page, all)
}
