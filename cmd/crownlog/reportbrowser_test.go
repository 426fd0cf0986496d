package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestReportOnScreens: on a phone as on a desk nothing of the page is beyond its
// edge, each verdict is in sight and no figure is parted from its unit; and axe-core
// finds nothing serious in it, where CROWNLOG_AXE names its script.
func TestReportOnScreens(t *testing.T) {
	browser := newBrowser(t)
	dir, _ := playRehearsal(t, "--seed", "7")
	require.Zero(t, crownlog(t, nil, "export", dir, "--html").code)
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	defer cancel()
	tab := tab{t, ctx, cancel}
	tab.do(chromedp.EmulateViewport(360, 800), chromedp.Navigate("file://"+filepath.Join(dir, "report.html")))
	script, noAxe := os.ReadFile(os.Getenv("CROWNLOG_AXE"))
	if noAxe == nil {
		tab.do(chromedp.Evaluate[chromedp.Void](string(script)))
	}
	assert.Contains(t, evaluate[string](tab, "document.title"), "rehearsal", "the title names the job")
	for _, width := range []int64{360, 1200} {
		tab.do(chromedp.EmulateViewport(width, 800))
		assert.LessOrEqual(t, evaluate[int64](tab, "document.documentElement.scrollWidth"), width, "scrolls sideways")
		assert.Empty(t, evaluate[[]string](tab, `[...document.querySelectorAll('td.verdicts')].filter(e => {
			const at = e.getBoundingClientRect()
			return at.left < 0 || at.right > innerWidth + 1 }).map(e => e.parentElement.textContent)`), "verdicts out of sight at %d", width)
		assert.Empty(t, evaluate[[]string](tab, `[...document.querySelectorAll('td.number')].map(e => e.textContent).filter(s => /\d (mm|N·m|kPa|L)/.test(s))`))
		if noAxe == nil {
			assert.Empty(t, evaluate[[]string](tab, `axe.run().then(r => r.violations.filter(v => v.impact === 'serious' || v.impact === 'critical')
				.map(v => v.id + ': ' + v.nodes.map(n => n.html).join(' ')))`), "at %d", width)
		}
	}
}
