package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	devtools "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// onThePage runs in every page before its own script: it stands in for the
// browser's voice and keeps what it was to say, and what was shown.
const onThePage = `
window.said = []
window.shown = []
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text } }
Object.defineProperty(window, 'speechSynthesis', { value: { speak(u) { if (u.text) said.push(u.text) }, cancel() {} } })
document.addEventListener('DOMContentLoaded', () => new MutationObserver(() => {
  const now = document.getElementById('step').textContent + ': ' + document.getElementById('action').textContent
  if (shown.at(-1) !== now) shown.push(now)
}).observe(document.getElementById('todo'), { childList: true, characterData: true, subtree: true }))
`

// newBrowser starts Debian's Chromium without a screen; the test is skipped where
// there is none.
func newBrowser(t testing.TB) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium here, apt-get install chromium:", err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU)
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(ctx))
	return ctx
}

// A tab is one phone: a page with a session of its own.
type tab struct {
	t     testing.TB
	ctx   context.Context
	close context.CancelFunc
}

// openTab opens the address at the size of a phone held upright.
func openTab(t testing.TB, browser context.Context, address string) tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	p := tab{t, ctx, cancel}
	p.do(chromedp.EmulateViewport(360, 800))
	_, err := chromedp.Call(ctx, devtools.AddScriptToEvaluateOnNewDocument, devtools.AddScriptToEvaluateOnNewDocumentParams{Source: onThePage})
	require.NoError(t, err)
	p.do(chromedp.Navigate(address))
	p.until("window.view")
	return p
}

func (p tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.ctx, steps...))
}

// evaluate is what an expression is in the page.
func evaluate[T any](p tab, expression string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(p.t, err, expression)
	return v
}

// until waits for an expression to hold in the page. What the page declares with
// let is there, but not in window.
func (p tab) until(expression string) {
	p.t.Helper()
	expression = strings.ReplaceAll(expression, "window.view", "typeof view !== 'undefined' && view")
	late := time.Now().Add(30 * time.Second)
	for !evaluate[bool](p, "!!("+expression+")") {
		require.True(p.t, time.Now().Before(late), "the page never came to: %s\n%s", expression, evaluate[string](p, "document.body.innerText"))
		time.Sleep(20 * time.Millisecond)
	}
}

// press clicks the button of that text.
func (p tab) press(text string) {
	p.t.Helper()
	find := fmt.Sprintf("[...document.querySelectorAll('#buttons button')].find(b => b.textContent === %q)", text)
	p.until(find)
	p.do(chromedp.Evaluate[chromedp.Void](find + ".click()"))
}

// A program is crownlog at work in this process, with a page for a phone.
type program struct {
	out, err lockedBuffer
	code     chan int
}

// A lockedBuffer is written by the program while the test reads it.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

var phoneAddress = regexp.MustCompile(`http://127\.0\.0\.1:\d+/[a-z0-9]{20}/`)

// startProgram runs the program with a page for a phone until it ends, or the test
// does, and returns the address of the page. Nobody types anything.
func startProgram(t testing.TB, args ...string) (*program, string) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	p := &program{code: make(chan int, 1)}
	silent, keyboard := io.Pipe()
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		p.code <- run(ctx, append(args, "--no-screen", "--phone-address", "127.0.0.1"), silent, &p.out, &p.err)
	}()
	t.Cleanup(func() {
		cancel()
		keyboard.Close()
		<-ended
	})
	var address string
	require.Eventually(t, func() bool {
		address = phoneAddress.FindString(p.err.String())
		return address != ""
	}, 10*time.Second, 20*time.Millisecond, "%v", &p.err)
	return p, address
}

func TestPhoneWatchesAWholeRehearsal(t *testing.T) {
	if testing.Short() {
		t.Skip("plays a whole job")
	}
	browser := newBrowser(t)
	dir := filepath.Join(t.TempDir(), "job")
	p, address := startProgram(t, "rehearse", "--hands-off", "--phone", "--seed", "7", "--pace", "60", "--dir", dir)
	tab := openTab(t, browser, address)
	var code int
	for waiting := true; waiting; {
		select {
		case code = <-p.code:
			waiting = false
		case <-time.After(3 * time.Minute):
			require.Fail(t, "the rehearsal did not end", p.out.String())
		}
	}
	assert.Equal(t, exitOK, code, p.err.String())
	tab.until("document.body.innerText.includes('The program on the laptop has ended')")
	shown, said := strings.Join(evaluate[[]string](tab, "shown"), "\n"), strings.Join(evaluate[[]string](tab, "said"), "\n")
	snap, err := job.Read(dir)
	require.NoError(t, err)
	for _, step := range (job.Job{Sheet: snap.Sheet, Captures: snap.Captures}).Steps() {
		if step.Complete {
			assert.Contains(t, shown, step.Stage+" · "+record.Title(step.Feature)+": ", "a step was not seen")
		}
	}
	for _, text := range []string{"Rock it once more.", "Lift the plunger, free the pinion and turn to position", "Pull bolt 3 to", "all conditions met"} {
		assert.Contains(t, shown, text)
	}
	for _, text := range []string{"Position 8. ", "Inside. Lift the plunger, free the pinion and turn to position", "newton metres"} {
		assert.Contains(t, said, text)
	}
	for _, text := range []string{"undefined", "NaN", "[object", "press space"} {
		assert.NotContains(t, said+shown, text)
	}
	for _, text := range []string{"N·m", "°", "±", "Stored.", "("} {
		assert.NotContains(t, said, text, "not for an ear")
	}
}

// boltJob is a job that is ready to have its caps torqued.
func boltJob(t testing.TB) string {
	dir := filepath.Join(t.TempDir(), "job")
	folder, err := job.Create(dir, sheet.ExampleTOML())
	require.NoError(t, err)
	require.NoError(t, folder.Close())
	return dir
}

func measureBolts(t testing.TB, dir string) (*program, string) {
	return startProgram(t, "measure", dir, "--keyed", "--stage", record.StageCaps, "--feature", record.FeatureCapBolts,
		"--override", "a test without an axle", "--phone")
}

func TestPhoneTorquesAWholeRoundOfBolts(t *testing.T) {
	browser := newBrowser(t)
	dir := boltJob(t)
	p, address := measureBolts(t, dir)
	first := openTab(t, browser, address)
	for range 3 {
		mark := evaluate[string](first, "view.mark")
		first.press("Clicked")
		first.until(fmt.Sprintf("view.mark !== %q", mark))
	}
	said := evaluate[[]string](first, "said")

	second := openTab(t, browser, address)
	second.until("!document.getElementById('take').hidden")
	assert.Zero(t, evaluate[int](second, "document.querySelectorAll('#buttons button').length"), "two phones with buttons")
	first.close() // dies without a word; nothing is lost
	assert.Equal(t, 3, evaluate[int](second, "view.stored"))
	second.do(chromedp.Evaluate[chromedp.Void]("document.getElementById('take').click()"))
	second.press("Undo")
	second.until("document.querySelector('#buttons .sure')?.textContent === 'Take the last one back?'")
	assert.Equal(t, 3, evaluate[int](second, "view.stored"), "undone without being asked twice")
	second.press("Take the last one back?")
	second.until("view.stored === 2")
	for stored := 2; stored < 7; stored++ {
		second.press("Clicked")
		second.until(fmt.Sprintf("view.stored === %d", stored+1))
	}
	second.press("Clicked")
	second.until("over")
	said = append(said, "-- the second phone")
	said = append(said, evaluate[[]string](second, "said")...)
	assert.Equal(t, exitOK, <-p.code, p.err.String())
	golden := filepath.Join("testdata", "phone", "said.txt")
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
		require.NoError(t, os.WriteFile(golden, []byte(strings.Join(said, "\n")+"\n"), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), strings.Join(said, "\n")+"\n")

	snap, err := job.Read(dir)
	require.NoError(t, err)
	var bolts []string
	for _, c := range record.Active(snap.Captures) {
		if c.Feature == record.FeatureCapBolts {
			bolts = append(bolts, fmt.Sprintf("%d pass %d: %.1f %s, %s", c.Position, c.Pass.N, c.Value, c.Quality, c.Note))
		}
	}
	var pulls []string // two passes in the order of a star; half of 85 and all of it
	for i, bolt := range []int{1, 3, 2, 4, 1, 3, 2, 4} {
		pulls = append(pulls, fmt.Sprintf("%d pass %d: %.1f click, clicked at its setting, nothing read", bolt, 1+i/4, []float64{42.5, 85}[i/4]))
	}
	assert.ElementsMatch(t, pulls, bolts)
}

func TestPressForAnotherBoltDoesNothing(t *testing.T) {
	browser := newBrowser(t)
	_, address := measureBolts(t, boltJob(t))
	tab := openTab(t, browser, address)
	mark := evaluate[string](tab, "view.mark")
	order := fmt.Sprintf("send('do', {do: 'click', seen: %q})", mark)
	assert.True(t, evaluate[bool](tab, order))
	assert.False(t, evaluate[bool](tab, order), "one click of the wrench counted twice")
	tab.until("document.getElementById('answer').textContent.includes('moved on')")
	tab.until("view.stored > 0")
	assert.Equal(t, 1, evaluate[int](tab, "fetch('page.css').then(() => view.stored)"))
}

func TestPhotoLandsInTheJobAndItsReport(t *testing.T) {
	browser := newBrowser(t)
	dir := boltJob(t)
	_, address := measureBolts(t, dir)
	tab := openTab(t, browser, address)
	photo := photoWithPosition(t)
	require.Contains(t, string(photo), "Exif")
	path := filepath.Join(t.TempDir(), "IMG_1.jpg")
	require.NoError(t, os.WriteFile(path, photo, 0o600))
	tab.do(chromedp.Evaluate[chromedp.Void]("document.getElementById('what').value = 'the cap marks'"), chromedp.SetUploadFiles("#shot", []string{path}))
	tab.until("document.getElementById('photos').textContent.includes('1 stored')")

	snap, err := job.Read(dir)
	require.NoError(t, err)
	last := snap.Captures[len(snap.Captures)-1]
	assert.Equal(t, "photo of the cap marks, bearing cap bolts, bolt 1", last.Note)
	assert.Equal(t, record.StageCaps, last.Stage)
	checked, err := journal.CheckAttachments(dir, snap.Captures)
	require.NoError(t, err)
	require.Len(t, checked, 1)
	kept, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(checked[0].Path)))
	require.NoError(t, err)
	assert.NotContains(t, string(kept), "Exif")
	size, err := jpeg.DecodeConfig(bytes.NewReader(kept))
	require.NoError(t, err)
	assert.Equal(t, 3072, size.Width, "as wide as the page makes it")

	var out, stderr bytes.Buffer
	require.Equal(t, exitOK, run(t.Context(), []string{"export", dir, "--html"}, strings.NewReader(""), &out, &stderr), stderr.String())
	html, err := os.ReadFile(filepath.Join(dir, "report.html"))
	require.NoError(t, err)
	assert.Contains(t, string(html), checked[0].Path)
	assert.Contains(t, string(html), "photo of the cap marks")
	assert.Contains(t, string(html), `href="data:image/jpeg;base64,`, "no small picture of it")
}

// photoWithPosition is a photo as a phone makes it, four thousand wide, with the
// place it was taken at: 51° N. Format: CIPA DC-008 (Exif 2.3), 4.5 and 4.6.6.
func photoWithPosition(t testing.TB) []byte {
	var body bytes.Buffer
	require.NoError(t, jpeg.Encode(&body, image.NewGray(image.Rect(0, 0, 4000, 3000)), nil))
	tiff := []byte("MM\x00*\x00\x00\x00\x08")
	entry := func(tag, kind uint16, count, value uint32) {
		tiff = binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(tiff, tag), kind)
		tiff = binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(tiff, count), value)
	}
	tiff = append(tiff, 0, 1) // one entry: where the position is
	entry(0x8825, 4, 1, 26)
	tiff = append(tiff, 0, 0, 0, 0, 0, 2)
	entry(1, 2, 2, uint32('N')<<24)
	entry(2, 5, 3, 56)
	tiff = append(tiff, 0, 0, 0, 0)
	for _, n := range []uint32{51, 1, 0, 1, 0, 1} {
		tiff = binary.BigEndian.AppendUint32(tiff, n)
	}
	segment := append([]byte("Exif\x00\x00"), tiff...)
	photo := append([]byte{0xff, 0xd8, 0xff, 0xe1}, binary.BigEndian.AppendUint16(nil, uint16(len(segment)+2))...)
	return append(append(photo, segment...), body.Bytes()[2:]...)
}

// aRound is a round of four places as the page gets it, of which so many are
// stored, and the name of its first place as a bolt's.
const aRound = `
const wheel = (stored, more) => ({
  step: 'final · backlash', phase: 'measuring', kind: '', bell: stored, alarm: 0, alert: '', onward: true, move: 0,
  rocks: [0, 3], action: 'Turn to position 2, 90 degrees. Rock three times.',
  ring: [0, 1, 2, 3].map(i => ({
    name: String(i + 1), label: 90 * i + '°', value: i < stored ? '0.1' + (5 + i) : '', verdict: i < stored ? 'inside' : '', current: i === stored,
  })), ...more,
})
const first = (v, more) => { Object.assign(v.ring[0], more); return v }
const at = (v, i) => { v.ring.forEach((s, k) => s.current = k === i); return v }
const lift = 'Stored. Lift the plunger and turn to position 2, 90 degrees.'
`

func TestWhatTheEarIsTold(t *testing.T) {
	browser := newBrowser(t)
	_, address := measureBolts(t, boltJob(t))
	tab := openTab(t, browser, address)
	tab.do(chromedp.Evaluate[chromedp.Void](aRound))
	for name, c := range map[string]struct{ before, now, words, tone string }{
		"nothing new":           {`wheel(1)`, `wheel(1)`, "", ""},
		"a rock":                {`wheel(1)`, `wheel(1, {rocks: [2, 3], action: 'Rock it once more.'})`, "", ""},
		"captured":              {`wheel(0)`, `at(wheel(1, {phase: 'captured', action: lift}), 0)`, "Position 1. 0.15. Inside. Lift the plunger and turn to position 2, 90 degrees.", "captured"},
		"captured outside":      {`wheel(0)`, `first(wheel(1, {action: lift}), {value: '0.31', verdict: 'outside'})`, "Position 1. 0.31. Outside. Lift the plunger and turn to position 2, 90 degrees.", "captured"},
		"two at once":           {`wheel(0)`, `wheel(2)`, "Position 1. 0.15. Inside. Position 2. 0.16. Inside. Turn to position 2, 90 degrees. Rock three times.", "captured"},
		"the same value again":  {`at(wheel(1), 0)`, `at(wheel(1, {bell: 2}), 0)`, "Position 1. 0.15. Inside. Turn to position 2, 90 degrees. Rock three times.", "captured"},
		"captured with a fault": {`wheel(1)`, `wheel(2, {alarm: 1, alert: 'Bolt 2 was clicked twice.'})`, "Position 2. 0.16. Inside. Look. Bolt 2 was clicked twice.", "look"},
		"a fault":               {`wheel(1)`, `wheel(1, {alarm: 1, alert: 'The base moved by 0.05 mm. Set it again (x).'})`, "Look. The base moved by 0.05 millimetres. Set it again.", "look"},
		"moved on as told":      {`at(wheel(1, {phase: 'captured'}), 0)`, `wheel(1)`, "", ""},
		"skipped":               {`wheel(1)`, `at(wheel(1, {action: 'Rock three times.'}), 2)`, "Position 3. Rock three times.", ""},
		"lost":                  {`wheel(1)`, `wheel(1, {phase: 'gauge lost', action: 'Plug the gauge in again.'})`, "Gauge lost. Plug the gauge in again.", "look"},
		"back":                  {`wheel(1, {phase: 'gauge lost'})`, `wheel(1)`, "Gauge is back.", "back"},
		"paused":                {`wheel(1)`, `wheel(1, {phase: 'paused', action: 'Paused. Nothing is measured until you go on.'})`, "Paused. Nothing is measured until you go on.", "look"},
		"going on":              {`wheel(1, {phase: 'paused'})`, `wheel(1)`, "Going on. Turn to position 2, 90 degrees. Rock three times.", "back"},
		"another round":         {`wheel(1, {step: 'other'})`, `wheel(0, {action: 'Rock three times.'})`, "Position 1. Rock three times.", ""},
		"the round anew":        {`wheel(4)`, `wheel(0, {action: 'Rock three times.'})`, "Position 1. Rock three times.", ""},
		"a try that failed":     {`wheel(0)`, `first(wheel(1, {alarm: 1, alert: 'It did not lock.'}), {label: 'cycle 1', value: 'no', verdict: 'outside'})`, "Cycle 1. Failed. Outside. Look. It did not lock.", "look"},
		"units":                 {`wheel(0)`, `wheel(1, {action: 'LEFT-HAND 85.0 N·m ± 2 lbf·ft at 620 kPa.'})`, "Position 1. 0.15. Inside. left hand 85.0 newton metres plus or minus 2 pound feet at 620 kilopascal.", "captured"},
	} {
		said := evaluate[[]string](tab, "say("+c.before+", "+c.now+")")
		assert.Equal(t, []string{c.words, c.tone}, said, name)
	}
}

func TestButtonsOfTheMoment(t *testing.T) {
	browser := newBrowser(t)
	_, address := measureBolts(t, boltJob(t))
	tab := openTab(t, browser, address)
	tab.do(chromedp.Evaluate[chromedp.Void](aRound))
	for name, c := range map[string]struct{ view, want string }{ // a star before the main one, a question mark where it is asked twice
		"not rocked":     {`wheel(1)`, "Store, Skip, Back, Again, Pause, Undo?"},
		"rocking":        {`wheel(1, {rocks: [1, 3]})`, "Store, Skip?, Back, Again?, Pause, Undo?"},
		"enough rocks":   {`wheel(1, {rocks: [3, 3]})`, "*Store, Skip?, Back, Again?, Pause, Undo?"},
		"stored":         {`at(wheel(1, {rocks: [3, 3], phase: 'captured'}), 0)`, "*Next, Store, Back, Again, Pause, Undo?"},
		"bolts by click": {`wheel(1, {kind: 'bolts'})`, "*Clicked, Skip, Back, Again, Pause, Undo?"},
		"lock":           {`wheel(0, {kind: 'lock'})`, "*Locked and freed, Did not lock, Did not free, Skip, Back, Again, Pause, Undo?"},
		"check":          {`wheel(0, {kind: 'check'})`, "*It is so, Skip, Back, Again, Pause, Undo?"},
		"pattern":        {`wheel(0, {kind: 'pattern'})`, "Skip, Back, Again, Pause, Undo?"},
		"on hold":        {`wheel(0, {phase: 'on hold'})`, ""},
		"paused":         {`wheel(1, {phase: 'paused'})`, "*Go on"},
		"done":           {`wheel(4, {phase: 'round done'})`, "*Next step, Measure again?, Undo?"},
		"done, and over": {`wheel(4, {phase: 'round done', onward: false})`, "Undo?"},
		"to be adjusted": {`wheel(4, {phase: 'round done', move: 1})`, "*Moved by +1 as advised?, Measure again?, Undo?"},
		"adjusted back":  {`wheel(4, {phase: 'round done', move: -0.05})`, "*Moved by -0.05 as advised?, Measure again?, Undo?"},
	} {
		got := evaluate[string](tab, "buttonsOf("+c.view+").map(b => (b.main ? '*' : '') + b.text + (b.lose ? '?' : '')).join(', ')")
		assert.Equal(t, c.want, got, name)
	}
}

// What is typed is a value, or the reason to pass a hold point where there is one.
func TestTypedIsAValueOrAReason(t *testing.T) {
	browser := newBrowser(t)
	_, address := measureBolts(t, boltJob(t))
	tab := openTab(t, browser, address)
	for phase, want := range map[string]string{"measuring": "typed 0.15", "on hold": "pass 0.15"} {
		got := evaluate[string](tab, fmt.Sprintf(`asked = '', send = async (what, order) => { asked = order.do + ' ' + order.text }
			show({ ...view, phase: %q, typed: 'a reason' })
			$('value').value = ' 0.15 '
			$('typed').requestSubmit()
			asked`, phase))
		assert.Equal(t, want, got)
	}
}

// A page that hears nothing says so, and comes back by itself.
func TestPageThatLostTheLaptopSaysSoAndComesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("waits until a page is old")
	}
	browser := newBrowser(t)
	_, address := measureBolts(t, boltJob(t))
	tab := openTab(t, browser, address)
	tab.press("Clicked")
	tab.until("view.stored === 1")
	tab.do(chromedp.Evaluate[chromedp.Void]("events.close()"))
	tab.until("document.body.classList.contains('stale') && document.getElementById('notice').textContent.startsWith('OLD: nothing heard')")
	tab.until("!document.body.classList.contains('stale') && document.getElementById('notice').hidden")
	tab.press("Clicked")
	tab.until("view.stored === 2")
}

// What a page must not have: accessibility faults that axe-core calls serious or
// critical. Its script is not kept here: CROWNLOG_AXE names it, as .ci/run does.
func TestPageIsAccessible(t *testing.T) {
	path := os.Getenv("CROWNLOG_AXE")
	if path == "" {
		t.Skip("CROWNLOG_AXE names no axe.min.js: npm pack axe-core")
	}
	script, err := os.ReadFile(path)
	require.NoError(t, err)
	browser := newBrowser(t)
	_, address := measureBolts(t, boltJob(t))
	tab := openTab(t, browser, address)
	tab.press("Clicked")
	tab.until("view.stored === 1")
	tab.do(chromedp.Evaluate[chromedp.Void](string(script)))
	for _, size := range [][2]int64{{320, 568}, {360, 800}, {800, 360}, {820, 1180}} {
		for _, dark := range []bool{false, true} {
			tab.do(chromedp.EmulateViewport(size[0], size[1]),
				chromedp.Evaluate[chromedp.Void](fmt.Sprintf("document.documentElement.classList.toggle('dark', %t)", dark)))
			found := evaluate[[]string](tab, `axe.run().then(r => r.violations.filter(v => v.impact === 'serious' || v.impact === 'critical')
				.map(v => v.id + ': ' + v.nodes.map(n => n.html).join(' ')))`)
			assert.Empty(t, found, "%v, dark %t", size, dark)
			assert.LessOrEqual(t, evaluate[int64](tab, "document.documentElement.scrollWidth"), size[0], "scrolls sideways at %v", size)
		}
	}
	assert.Positive(t, evaluate[int](tab, "axe.run().then(r => r.passes.length)"))
}
