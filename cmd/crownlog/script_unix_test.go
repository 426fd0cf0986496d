//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/creack/pty"
	"github.com/rogpeppe/go-internal/testscript"
)

// noSpace is what the system says of a full disk.
const noSpace = syscall.ENOSPC

// scriptCommands adds the commands that need a pseudo-terminal.
func scriptCommands(cmds map[string]func(*testscript.TestScript, bool, []string)) map[string]func(*testscript.TestScript, bool, []string) {
	cmds["gauge"] = gaugeCommand
	cmds["unplug"] = unplugCommand
	return cmds
}

// A scriptGauge says the lines of a file over a pseudo-terminal.
type scriptGauge struct {
	link          string // the name of its port
	master, slave *os.File
	done          chan struct{}
}

// plugged keeps the gauges of all scripts; a script sees its own by the name of
// its port.
var plugged = newRegister()

func gaugeCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: gauge NAME FILE MS")
	}
	every, err := strconv.Atoi(args[2])
	ts.Check(err)
	master, slave, err := pty.Open()
	ts.Check(err)
	// A name of the script's own: the terminal's is another's as soon as it is
	// gone, and a program that waits for it would take that one.
	dir, err := os.MkdirTemp(ts.MkAbs("."), "port")
	ts.Check(err)
	link := filepath.Join(dir, args[0])
	ts.Check(os.Symlink(slave.Name(), link))
	g := &scriptGauge{link: link, master: master, slave: slave, done: make(chan struct{})}
	lines := strings.SplitAfter(ts.ReadFile(args[1]), "\n")
	go g.talk(lines, time.Duration(every)*time.Millisecond)
	ts.Setenv(args[0], link)
	plugged.put(link, g)
	ts.Defer(func() {
		if plugged.drop(link, g) {
			g.hangUp()
		}
	})
}

func unplugCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: unplug NAME")
	}
	g := plugged.take(ts.Getenv(args[0]))
	if g == nil {
		ts.Fatalf("no gauge %s", args[0])
	}
	g.hangUp()
}

func (g *scriptGauge) talk(lines []string, every time.Duration) {
	defer close(g.done)
	tick := time.NewTicker(every)
	defer tick.Stop()
	for _, line := range lines {
		<-tick.C
		if _, err := g.master.WriteString(line); err != nil {
			return
		}
	}
}

func (g *scriptGauge) hangUp() {
	os.Remove(g.link)
	g.slave.Close()
	g.master.Close()
	<-g.done
}

// A register keeps the gauges of scripts that run side by side.
type register struct {
	mu     sync.Mutex
	gauges map[string]*scriptGauge
}

func newRegister() *register { return &register{gauges: map[string]*scriptGauge{}} }

func (r *register) put(name string, g *scriptGauge) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.gauges[name] = g
}

// take returns the gauge and forgets it; nil when there is none.
func (r *register) take(name string) *scriptGauge {
	r.mu.Lock()
	defer r.mu.Unlock()
	g := r.gauges[name]
	delete(r.gauges, name)
	return g
}

// drop forgets g and reports whether it was still there: a gauge that was
// unplugged may have been followed by another of its name.
func (r *register) drop(name string, g *scriptGauge) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.gauges[name] != g {
		return false
	}
	delete(r.gauges, name)
	return true
}
