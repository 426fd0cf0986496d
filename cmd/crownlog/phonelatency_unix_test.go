//go:build unix

package main

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"crownlog/cmd/crownlog/live"
	"crownlog/cmd/crownlog/phone"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// watchNumber keeps when the page's number changed and to what, in ms since 1970.
const watchNumber = `
window.turns = []
new MutationObserver(() => turns.push([performance.timeOrigin + performance.now(), document.getElementById('number').textContent]))
  .observe(document.getElementById('number'), { childList: true, characterData: true, subtree: true })
`

// BenchmarkPtyToPhone runs four gauges at 100 Hz, each on a pseudo-terminal,
// through a round to four phones in Chromium. It reports how long a reading takes
// from the write into the terminal until the number in the page has changed (p50
// and p99 of all four), and the share of one core that the process took; Chromium
// is another process. The baseline is the same without a phone; a client without a
// page, beside the four, says how much of it is the machine and the server.
func BenchmarkPtyToPhone(b *testing.B) {
	for _, phones := range []int{0, 4} {
		b.Run(fmt.Sprintf("phones-%d", phones), func(b *testing.B) { ptyToPhone(b, phones) })
	}
}

func ptyToPhone(b *testing.B, phones int) {
	folder, err := job.Create(b.TempDir(), sheet.ExampleTOML())
	require.NoError(b, err)
	round, err := logger.NewRound(logger.RoundConfig{
		Sheet: folder.Sheet(), Stage: record.StageAsFound, Feature: record.FeatureRunoutBackFace, Store: folder,
	})
	require.NoError(b, err)
	l := &latency{value: make(chan string), sent: make(chan time.Time, 1), now: flipLow}
	ctx, cancel := context.WithCancel(context.Background())
	sources := []live.Source{l.gauge(b, ctx, "length", l.value)}
	for _, quantity := range []string{"torque", "pressure", "temperature"} {
		sources = append(sources, l.gauge(b, ctx, quantity, nil))
	}
	hub := live.NewHub()
	gauges := live.Start(ctx, sources...)
	ended := make(chan error, 1)
	go func() {
		_, err := live.Run(ctx, live.Config{Round: round, Gauges: gauges, Hub: hub, Stay: true})
		ended <- err
	}()
	server, err := phone.Start(phone.Config{Hub: hub, Address: "127.0.0.1"})
	require.NoError(b, err)
	b.Cleanup(func() {
		require.NoError(b, server.Close())
		cancel()
		require.NoError(b, <-ended)
		gauges.Stop()
		require.NoError(b, folder.Close())
	})
	var tabs []tab
	bare := &bareClient{}
	if phones > 0 {
		bare.start(b, server.Address())
		browser := newBrowser(b)
		for range phones {
			tabs = append(tabs, openTab(b, browser, server.Address()))
			tabs[len(tabs)-1].do(chromedp.Evaluate[chromedp.Void](watchNumber))
		}
	}
	time.Sleep(2 * time.Second) // until four fresh pages have come to rest
	var sent []float64          // when each value went out, in ms since 1970; flipLow and flipHigh by turns
	used, began := cpuTime(), time.Now()
	for b.Loop() {
		l.waits++
		time.Sleep(time.Duration(140+l.waits*7%61) * time.Millisecond)
		if l.now == flipLow {
			l.now = flipHigh
		} else {
			l.now = flipLow
		}
		l.value <- l.now
		sent = append(sent, ms(time.Duration((<-l.sent).UnixNano())))
	}
	share := float64(cpuTime()-used) / float64(time.Since(began))
	b.ReportMetric(100*share, "%core")
	b.ReportMetric(0, "ns/op") // the pace is the gauges', not the program's
	if phones == 0 {
		return
	}
	time.Sleep(500 * time.Millisecond)
	report := func(name string, turns ...[]turn) {
		took := delays(b, sent, turns...)
		b.ReportMetric(took[len(took)/2], name+"p50-ms")
		b.ReportMetric(took[len(took)*99/100], name+"p99-ms")
	}
	report("bare-", bare.seen())
	var shown [][]turn
	for _, tab := range tabs {
		var turns []turn
		for _, t := range evaluate[[][2]any](tab, "turns") {
			turns = append(turns, turn{t[0].(float64), t[1].(string)})
		}
		shown = append(shown, turns)
	}
	report("", shown...)
}

// A turn is a number that was shown, and when: ms since 1970.
type turn struct {
	at     float64
	number string
}

// delays are the ms, sorted, from each value that was sent until it was shown.
func delays(b *testing.B, sent []float64, shown ...[]turn) []float64 {
	var took []float64
	for _, turns := range shown {
		for i, at := range sent {
			want := []string{flipHigh, flipLow}[i%2]
			k := slices.IndexFunc(turns, func(t turn) bool { return t.at > at && t.number == want })
			require.GreaterOrEqual(b, k, 0, "%s never reached a phone", want)
			took = append(took, turns[k].at-at)
		}
	}
	slices.Sort(took)
	return took
}

// A bareClient takes the views as a page does, and shows nothing.
type bareClient struct {
	mu    sync.Mutex
	turns []turn
}

func (c *bareClient) start(b *testing.B, address string) {
	resp, err := http.Get(address + "views?page=bare")
	require.NoError(b, err)
	b.Cleanup(func() { resp.Body.Close() })
	number := regexp.MustCompile(`"big":"([^"]*)"`)
	go func() {
		for lines := bufio.NewScanner(resp.Body); lines.Scan(); {
			if m := number.FindSubmatch(lines.Bytes()); m != nil {
				c.mu.Lock()
				c.turns = append(c.turns, turn{ms(time.Duration(time.Now().UnixNano())), string(m[1])})
				c.mu.Unlock()
			}
		}
	}()
}

func (c *bareClient) seen() []turn {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.turns
}
