package phone

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/setup"
	"crownlog/cmd/crownlog/live"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// memory keeps captures for as long as a test lasts.
type memory struct{ captures []record.Capture }

func (m *memory) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(m.captures) + 1
	m.captures = append(m.captures, c)
	return c, nil
}

func (m *memory) Captures() []record.Capture { return m.captures }

// A bench is a round of a feature at work, with a page.
type bench struct {
	t *testing.T
	*Server
	hub   *live.Hub
	store *memory
}

const me = "page-of-mine"

// work runs a round whose values are typed, and opens a page that has the buttons.
func work(t *testing.T, stage, feature string, cfg Config) *bench {
	t.Helper()
	return workOn(t, sheet.Example(), &memory{}, stage, feature, cfg)
}

// workOn is work at a job with a sheet of its own.
func workOn(t *testing.T, of sheet.Sheet, store *memory, stage, feature string, cfg Config) *bench {
	t.Helper()
	b := &bench{t: t, hub: live.NewHub(), store: store}
	round, err := logger.NewRound(logger.RoundConfig{Sheet: of, Stage: stage, Feature: feature, Store: b.store, Keyed: true})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	gauges := live.Start(ctx)
	ended := make(chan error, 1)
	go func() {
		_, err := live.Run(ctx, live.Config{Round: round, Gauges: gauges, Hub: b.hub, Stay: true})
		ended <- err
	}()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
		gauges.Stop()
	})
	cfg.Hub = b.hub
	b.Server = open(t, cfg)
	page, leave := context.WithCancel(context.Background())
	t.Cleanup(leave)
	watch(t, page, b.Server, me).view()
	return b
}

// mark is that of the newest view.
func (b *bench) mark() string { return mark(b.hub.Latest()) }

// press sends an order as the page does, and is what was answered.
func (b *bench) press(o order) (code int, text string) {
	b.t.Helper()
	body, err := json.Marshal(o)
	require.NoError(b.t, err)
	resp, text := request(b.t, b.Server, "POST", "do", string(body), nil)
	return resp.StatusCode, strings.TrimSpace(text)
}

func TestOnePressIsOneBolt(t *testing.T) {
	b := work(t, record.StageCaps, record.FeatureCapBolts, Config{})
	seen := b.mark()
	code, text := b.press(order{Page: me, Do: "click", Seen: seen})
	require.Equal(t, http.StatusOK, code, text)
	for range 3 {
		code, text = b.press(order{Page: me, Do: "click", Seen: seen})
		assert.Equal(t, http.StatusConflict, code)
		assert.Equal(t, "The round has moved on since: look, and press again.", text)
	}
	assert.Len(t, b.store.captures, 1)
}

func TestOrdersThatDoNothing(t *testing.T) {
	b := work(t, record.StageCaps, record.FeatureCapBolts, Config{})
	for want, o := range map[string]order{
		"Another phone has the buttons.":                       {Page: "somebody-else", Do: "click"},
		"That is no order of this page.":                       {Page: me, Do: "override because I say so"},
		"The round has moved on since: look, and press again.": {Page: me, Do: "onward"},
	} {
		o.Seen = b.mark()
		code, text := b.press(o)
		assert.Equal(t, http.StatusConflict, code)
		assert.Equal(t, want, text)
	}
	for _, do := range []string{"value 85 N·m", "pattern 0 0", "redo", ""} { // what a round would take
		code, _ := b.press(order{Page: me, Do: do, Seen: b.mark()})
		assert.Equal(t, http.StatusConflict, code, do)
	}
	code, text := b.press(order{Page: me, Do: "typed", Text: "many", Seen: b.mark()})
	assert.Equal(t, http.StatusConflict, code)
	assert.Contains(t, text, "Not one value")
	assert.Empty(t, b.store.captures)
}

func TestTypedOnThePhone(t *testing.T) {
	b := work(t, record.StageFinal, record.FeatureEngagement, Config{})
	for _, text := range []string{"yes", "0.6", "no lock"} {
		code, answer := b.press(order{Page: me, Do: "typed", Text: text, Seen: b.mark()})
		require.Equal(t, http.StatusOK, code, answer)
		require.Eventually(t, func() bool { return b.hub.Latest().Stored == len(b.store.captures) }, time.Second, time.Millisecond)
	}
	require.Len(t, b.store.captures, 3)
	assert.Equal(t, "did-not-lock", b.store.captures[2].Quality)
}

func TestChecksAreTicked(t *testing.T) {
	b := work(t, record.StageFinal, record.FeatureCloseUp, Config{})
	code, answer := b.press(order{Page: me, Do: "typed", Text: "yes", Seen: b.mark()})
	require.Equal(t, http.StatusOK, code, answer)
	require.Len(t, b.store.captures, 1)
	assert.Equal(t, record.FeatureCloseUp, b.store.captures[0].Feature)
}

func TestHoldIsPassedWithAReasonOnly(t *testing.T) {
	b := work(t, record.StageCaps, record.FeatureCapBolts, Config{})
	b.hub.Do(func(r *logger.Round) error { return r.Hold() })
	require.Eventually(t, func() bool { return b.hub.Latest().State == logger.StateHeld }, time.Second, time.Millisecond)
	assert.Equal(t, "a reason", newState(b.hub.Latest()).Typed)
	for _, none := range []string{"", "  \n "} {
		code, _ := b.press(order{Page: me, Do: "pass", Text: none, Seen: b.mark()})
		assert.Equal(t, http.StatusConflict, code, none)
	}
	code, answer := b.press(order{Page: me, Do: "pass", Text: "the caps\nwere  numbered before", Seen: b.mark()})
	require.Equal(t, http.StatusOK, code, answer)
	require.Eventually(t, func() bool { return b.hub.Latest().State != logger.StateHeld }, time.Second, time.Millisecond)
	require.NotEmpty(t, b.store.captures)
	for _, c := range b.store.captures {
		assert.Contains(t, c.Note, "the caps were numbered before")
	}
	code, _ = b.press(order{Page: me, Do: "pass", Text: "once more", Seen: b.mark()})
	assert.Equal(t, http.StatusConflict, code, "nothing is held any more")
}

// An entry is ticked by the button under its own words only: not by one that is
// pressed twice, nor where the page has no such button.
func TestTickOfTheListThatHolds(t *testing.T) {
	of, store := sheet.Example(), &memory{}
	of.Checks = []sheet.Check{
		{Name: "caps-marked", Stage: record.StageAsFound, What: "caps marked", Required: true},
		{Name: "shims-tagged", Stage: record.StageAsFound, What: "shims tagged", Required: true},
	}
	b := workOn(t, of, store, record.StageFitUp, record.FeatureRunoutFlange, Config{Tick: func(name string) func(*logger.Round) error {
		return func(r *logger.Round) error {
			check, err := job.Job{Sheet: of, Captures: store.captures}.Check(name)
			if err == nil {
				_, err = check.TickOff(store, "", time.Now())
			}
			return errors.Join(err, r.Hold())
		}
	}})
	press := func(name string) int {
		code, _ := b.press(order{Page: me, Do: "tick", Text: name, Seen: b.mark()})
		return code
	}
	assert.Equal(t, http.StatusConflict, press("caps-marked"), "nothing is asked yet")
	b.hub.Do(func(r *logger.Round) error { return r.Hold() })
	for _, name := range []string{"caps-marked", "shims-tagged"} {
		require.Eventually(t, func() bool { return b.state(me).Tick == name }, time.Second, time.Millisecond)
		assert.NotEmpty(t, b.state(me).What)
		assert.Equal(t, http.StatusConflict, press(""))
		assert.Equal(t, http.StatusOK, press(name))
		require.Eventually(t, func() bool { return b.state(me).Tick != name }, time.Second, time.Millisecond)
		assert.Equal(t, http.StatusConflict, press(name), "pressed twice")
	}
	assert.Len(t, store.captures, 2)
}

func TestPauseIsNeverRefused(t *testing.T) {
	b := work(t, record.StageCaps, record.FeatureCapBolts, Config{})
	code, _ := b.press(order{Page: me, Do: "pause", Seen: "whatever it was"})
	assert.Equal(t, http.StatusOK, code)
	assert.Eventually(t, func() bool { return b.hub.Latest().State == logger.StatePaused }, time.Second, time.Millisecond)
}

// Nobody runs a round: the order is not kept for the next one.
func TestOrderWithoutARoundIsForgotten(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for an answer")
	}
	hub := live.NewHub()
	hub.Publish(logger.View{Current: -1})
	s := open(t, Config{Hub: hub})
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	watch(t, ctx, s, me).view()
	b := &bench{t: t, Server: s, hub: hub}
	code, text := b.press(order{Page: me, Do: "click", Seen: b.mark()})
	assert.Equal(t, http.StatusConflict, code)
	assert.Equal(t, "The laptop does not answer: nothing was done.", text)

	store := &memory{}
	round, err := logger.NewRound(logger.RoundConfig{Sheet: sheet.Example(), Stage: record.StageCaps, Feature: record.FeatureCapBolts, Store: store, Keyed: true})
	require.NoError(t, err)
	later, end := context.WithTimeout(ctx, 200*time.Millisecond)
	defer end()
	gauges := live.Start(later)
	defer gauges.Stop()
	_, err = live.Run(later, live.Config{Round: round, Gauges: gauges, Hub: hub, Stay: true})
	require.NoError(t, err)
	assert.Empty(t, store.captures)
}

func TestFinishedRoundGoesOn(t *testing.T) {
	done := logger.View{State: logger.StateDone}
	done.Stage, done.Feature = record.StageSetUp, record.FeatureBacklash
	move := setup.Advice{Needed: true, Steps: -2, Near: setup.Side{By: -2}, Far: setup.Side{By: 2}}
	withMove := done
	withMove.Move = &move
	shim := withMove
	shim.Move = &setup.Advice{Needed: true, Shims: true, Steps: 0.05, Near: setup.Side{By: 0.05}, Far: setup.Side{By: -0.05}}
	assert.Equal(t, &job.Request{}, requestOf("onward", done))
	assert.Equal(t, &job.Request{Stage: record.StageSetUp, Feature: record.FeatureBacklash, Again: true}, requestOf("anew", done))
	assert.Equal(t, &job.Request{Moved: record.Move{Near: -2, Far: 2, Note: "as advised"}}, requestOf("moved", withMove))
	assert.Equal(t, 0.05, requestOf("moved", shim).Moved.Near)
	assert.Nil(t, requestOf("moved", done))
	assert.Nil(t, requestOf("onward", logger.View{State: logger.StateMeasuring}))
}

func TestButtonsChangeHandsOnlyWhenTaken(t *testing.T) {
	b := work(t, record.StageCaps, record.FeatureCapBolts, Config{})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	second := watch(t, ctx, b.Server, "the-second-page")
	assert.Equal(t, "other", second.view().Control)
	says, here := b.Status()
	assert.Equal(t, "phones: 2, buttons: 127.0.0.1", says)
	assert.True(t, here)
	resp, _ := request(t, b.Server, "POST", "take", `{"page":"nobody"}`, nil)
	assert.Equal(t, http.StatusConflict, resp.StatusCode)
	resp, _ = request(t, b.Server, "POST", "take", `{"page":"the-second-page"}`, nil)
	assert.Equal(t, http.StatusOK, resp.StatusCode)
	require.Eventually(t, func() bool { return second.view().Control == "mine" }, time.Second, time.Millisecond)
	code, _ := b.press(order{Page: me, Do: "click", Seen: b.mark()})
	assert.Equal(t, http.StatusConflict, code)
}

func TestPhotosThatAreNotKept(t *testing.T) {
	var names []string
	b := work(t, record.StageCaps, record.FeatureCapBolts, Config{
		Attach: func(_, path, text string, _ time.Time) (record.Capture, error) {
			names = append(names, text)
			_, err := os.Stat(path)
			return record.Capture{}, err
		},
	})
	picture := func(w, h int) string {
		var p bytes.Buffer
		require.NoError(t, jpeg.Encode(&p, image.NewGray(image.Rect(0, 0, w, h)), nil))
		return p.String()
	}
	small, large := picture(40, 30), []byte(picture(40, 30))
	at := bytes.Index(large, []byte{0xff, 0xc0}) // the frame header: a picture that says it has 65535 by 65535
	copy(large[at+5:], []byte{0xff, 0xff, 0xff, 0xff})
	for name, c := range map[string]struct{ page, body, says string }{
		"another page": {"somebody-else", small, "Another phone has the buttons."},
		"no picture":   {me, "GIF89a", "The photo is not stored: it is not a whole JPEG picture."},
		"torn":         {me, small[:len(small)/2], "The photo is not stored: it is not a whole JPEG picture."},
		"a bomb":       {me, string(large), "The photo is not stored: it has more than 50 million pixels."},
		"too long":     {me, small + strings.Repeat("x", mostPhoto), "The photo is not stored: http: request body too large."},
	} {
		resp, text := request(t, b.Server, "POST", "photo?what=x&page="+c.page, c.body, nil)
		assert.Equal(t, http.StatusConflict, resp.StatusCode, name)
		assert.Equal(t, c.says, strings.TrimSpace(text), name)
	}
	assert.Empty(t, names)
	resp, text := request(t, b.Server, "POST", "photo?page="+me+"&what="+strings.Repeat("x", 2*mostWords), small, nil)
	assert.Equal(t, http.StatusOK, resp.StatusCode, text)
	assert.Equal(t, []string{"photo of " + strings.Repeat("x", mostWords) + ", bearing cap bolts, bolt 1"}, names)
}

func TestPhotoLosesItsPlace(t *testing.T) {
	var p bytes.Buffer
	require.NoError(t, jpeg.Encode(&p, image.NewGray(image.Rect(0, 0, 8, 8)), nil))
	photo := append([]byte("\xff\xd8\xff\xe1\x00\x10Exif\x00\x00position"), p.Bytes()[2:]...)
	photo = append(photo, "behind the picture, position"...)
	clean, err := cleanPhoto(photo)
	require.NoError(t, err)
	assert.NotContains(t, string(clean), "position")
}

// The code is read by somebody else's reader, as a dark terminal shows it.
func TestQRCodeIsTheAddress(t *testing.T) {
	address := "http://192.168.178.123:45678/abcdefghijklmnopqrst/"
	lines := QR(address)
	assert.LessOrEqual(t, len(lines)+3, 24, "with the lines around it on an 80x24 terminal")
	const scale = 8
	w := len([]rune(lines[0]))
	picture := image.NewGray(image.Rect(0, 0, w*scale, 2*len(lines)*scale))
	for y, line := range lines {
		for x, r := range []rune(line) {
			for half, light := range []bool{r == '█' || r == '▀', r == '█' || r == '▄'} {
				if !light {
					continue
				}
				for i := range scale * scale {
					picture.Pix[picture.PixOffset(x*scale+i%scale, (2*y+half)*scale+i/scale)] = 255
				}
			}
		}
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(picture)
	require.NoError(t, err)
	read, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	require.NoError(t, err)
	assert.Equal(t, address, fmt.Sprint(read.GetText()))
}
