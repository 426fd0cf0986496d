//go:build unix

package main

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// BenchmarkPtyToScreen runs four gauges at 100 Hz, each on a pseudo-terminal,
// through a round to the dashboard on a simulated screen. It reports how long a
// reading takes from the write into the terminal until its digits are shown
// (p50 and p99), and the share of one core the process took, the writers and
// the simulated screen included. The baseline is the same writers with their
// lines only read and split by bufio.Scanner.
func BenchmarkPtyToScreen(b *testing.B) {
	b.Run("scanner", func(b *testing.B) {
		ctx, cancel := context.WithCancel(context.Background())
		b.Cleanup(cancel)
		for range 4 {
			slave := startWriter(b, ctx, "98.7", nil, nil)
			_, err := term.MakeRaw(int(slave.Fd()))
			require.NoError(b, err)
			go func() {
				for s := bufio.NewScanner(slave); s.Scan(); {
				}
			}()
		}
		used, began := cpuTime(), time.Now()
		for b.Loop() {
			time.Sleep(100 * time.Millisecond)
		}
		b.ReportMetric(100*float64(cpuTime()-used)/float64(time.Since(began)), "%core")
		b.ReportMetric(0, "ns/op")
	})
	for _, z := range []struct{ w, h int }{{80, 24}, {200, 60}} {
		b.Run(fmt.Sprintf("%dx%d", z.w, z.h), func(b *testing.B) {
			l := startLatency(b, z.w, z.h)
			var took []time.Duration
			used, began := cpuTime(), time.Now()
			for b.Loop() {
				took = append(took, l.flip(b))
			}
			share := float64(cpuTime()-used) / float64(time.Since(began))
			slices.Sort(took)
			b.ReportMetric(ms(took[len(took)/2]), "p50-ms")
			b.ReportMetric(ms(took[len(took)*99/100]), "p99-ms")
			b.ReportMetric(100*share, "%core")
			b.ReportMetric(0, "ns/op") // the pace is the gauges', not the program's
		})
	}
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// cpuTime is what the process has used so far.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// The two values the measured gauge goes between: no digit of one is a digit of
// the other.
const (
	flipLow  = "0.111"
	flipHigh = "0.888"
)

// A latency is a dashboard with four gauges talking to it.
type latency struct {
	screen *watchedScreen
	value  chan string         // what the measured gauge sends from now on
	sent   chan time.Time      // when it sent that first
	look   map[string][]string // the digits of each value on the screen
	now    string
	waits  int
}

// startLatency brings up gauges, round and dashboard for the benchmark.
func startLatency(b *testing.B, w, h int) *latency {
	folder, err := job.Create(b.TempDir(), sheet.ExampleTOML())
	require.NoError(b, err)
	round, err := logger.NewRound(logger.RoundConfig{
		Sheet: folder.Sheet(), Stage: record.StageAsFound, Feature: record.FeatureRunoutBackFace, Store: folder,
	})
	require.NoError(b, err)
	l := &latency{
		screen: &watchedScreen{SimulationScreen: tcell.NewSimulationScreen("UTF-8"), w: w, h: h, shown: make(chan struct{}, 1)},
		value:  make(chan string),
		sent:   make(chan time.Time, 1),
		now:    flipLow,
	}
	ctx, cancel := context.WithCancel(context.Background())
	sources := []live.Source{l.gauge(b, ctx, "length", l.value)}
	for _, quantity := range []string{"torque", "pressure", "temperature"} {
		sources = append(sources, l.gauge(b, ctx, quantity, nil))
	}
	hub := live.NewHub()
	ended := make(chan error, 2)
	gauges := live.Start(ctx, sources...)
	go func() {
		_, err := live.Run(ctx, live.Config{Round: round, Gauges: gauges, Hub: hub, Stay: true})
		ended <- err
	}()
	go func() {
		wake, forget := hub.Watch()
		defer forget()
		src := dashboard.Source{Latest: hub.Latest, Wake: wake, Command: hub.Command}
		ended <- dashboard.Run(ctx, l.screen, src)
	}()
	b.Cleanup(func() {
		cancel()
		require.NoError(b, <-ended)
		require.NoError(b, <-ended)
		gauges.Stop()
		require.NoError(b, folder.Close())
	})
	l.learn(b)
	return l
}

// gauge is a gauge on a pseudo-terminal that sends 100 lines a second.
func (l *latency) gauge(b *testing.B, ctx context.Context, quantity string, value <-chan string) live.Source {
	profile, _, err := device.FindProfile("text")
	require.NoError(b, err)
	text := flipLow
	if quantity != "length" {
		profile.Quantity, profile.Unit = quantity, map[string]string{"torque": "N·m", "pressure": "kPa", "temperature": "°C"}[quantity]
		text = "98.7"
	}
	slave := startWriter(b, ctx, text, value, l.sent)
	return device.NewGauge(quantity, profile, device.PortOpener(slave.Name(), profile.Serial), time.Now)
}

// startWriter opens a pseudo-terminal and writes text into it 100 times a
// second; a new one from value is written at once and its time handed to sent.
// It returns the end to read from.
func startWriter(b *testing.B, ctx context.Context, text string, value <-chan string, sent chan<- time.Time) *os.File {
	master, slave, err := pty.Open()
	require.NoError(b, err)
	b.Cleanup(func() { master.Close(); slave.Close() })
	go func() {
		tick := time.NewTicker(10 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case text = <-value:
				sent <- time.Now()
			case <-tick.C:
			}
			if _, err := master.WriteString(text + "\r\n"); err != nil {
				return
			}
		}
	}()
	return slave
}

// learn takes the card of the dial away, shows both values once and keeps how their
// digits look.
func (l *latency) learn(b *testing.B) {
	l.look = map[string][]string{}
	<-l.screen.shown // before that it takes no key
	l.screen.InjectKey(tcell.KeyRune, 'c', tcell.ModNone)
	for _, v := range []string{flipHigh, flipLow} {
		l.value <- v
		<-l.sent
		time.Sleep(500 * time.Millisecond)
		l.look[v] = l.screen.digits()
	}
	require.NotEqual(b, l.look[flipLow], l.look[flipHigh])
}

// flip changes the value at an odd moment and waits until its digits are shown.
func (l *latency) flip(b *testing.B) time.Duration {
	l.waits++
	time.Sleep(time.Duration(40+l.waits*7%61) * time.Millisecond)
	next := flipHigh
	if l.now == flipHigh {
		next = flipLow
	}
	l.now = next
	l.value <- next
	began := <-l.sent
	late := time.After(5 * time.Second)
	for {
		select {
		case <-l.screen.shown:
			if slices.Equal(l.screen.digits(), l.look[next]) {
				return time.Since(began)
			}
		case <-late:
			b.Fatalf("%s never reached the screen", next)
		}
	}
}

// A watchedScreen tells when something was shown.
type watchedScreen struct {
	tcell.SimulationScreen
	w, h  int
	shown chan struct{}
	lines atomic.Pointer[[]string]
}

func (s *watchedScreen) Init() error {
	err := s.SimulationScreen.Init()
	s.SetSize(s.w, s.h)
	return err
}

func (s *watchedScreen) Show() {
	s.SimulationScreen.Show()
	lines := s.read()
	s.lines.Store(&lines)
	select {
	case s.shown <- struct{}{}:
	default:
	}
}

// digits is how the reading looked when it was last shown.
func (s *watchedScreen) digits() []string {
	if lines := s.lines.Load(); lines != nil {
		return *lines
	}
	return nil
}

// read takes the right half of the rows the reading is drawn on.
func (s *watchedScreen) read() []string {
	cells, w, h := s.GetContents()
	lines := make([]string, h/3)
	for y := range lines {
		var b strings.Builder
		for x := w * 2 / 5; x < w; x++ {
			b.WriteString(string(cells[(y+2)*w+x].Runes))
		}
		lines[y] = b.String()
	}
	return lines
}
