package live

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// exampleSession is a session at the invented example job without a gauge.
func exampleSession(t *testing.T) *Session {
	t.Helper()
	folder, err := job.Create(filepath.Join(t.TempDir(), "job"), sheet.ExampleTOML())
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, folder.Close()) })
	return &Session{Folder: folder, HandsOff: true}
}

// attend plays the user at the hub while the session's rounds run.
func attend(t *testing.T, s *Session, first job.Request, user func(h *Hub)) []Outcome {
	t.Helper()
	ctx, quit := context.WithCancel(t.Context())
	hub := NewHub()
	go func() {
		defer quit()
		user(hub)
	}()
	ends, err := s.Run(ctx, hub, first, "")
	require.NoError(t, err)
	return ends
}

// settle waits until the round has taken what was sent.
func settle() { time.Sleep(time.Second) }

func typeAll(hub *Hub, n int, v float64) {
	for range n {
		hub.Command(logger.CmdKeyed(v, ""))
		settle()
	}
}

func TestSessionGoesThroughTheJob(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := exampleSession(t)
		var seen []string
		ends := attend(t, s, job.Request{Stage: record.StageAsFound, Feature: record.FeatureBacklash}, func(hub *Hub) {
			typeAll(hub, 8, 0.16)
			hub.Request(job.Request{})
			settle()
			seen = append(seen, hub.Latest().Stage+" "+hub.Latest().Feature)
			hub.Request(job.Request{Stage: record.StageSetUp, Feature: record.FeatureBacklash})
			settle()
			seen = append(seen, string(hub.Latest().State))
			typeAll(hub, 1, 0.2)
			hub.Do(s.Override(job.HoldFace, "measured by the machine shop"))
			settle()
			typeAll(hub, 8, 0.27)
			hub.Request(job.Request{Moved: record.Move{Amount: 1, Unseated: true}})
			settle()
			seen = append(seen, hub.Latest().Feature)
			typeAll(hub, 8, 0.165)
			hub.Request(job.Request{Moved: record.Move{Far: -1}})
			settle()
		})
		assert.Equal(t, []string{"fit-up runout-carrier-flange", "on hold", "backlash"}, seen)
		require.Len(t, ends, 2, "the last of each round in which something stands")
		assert.Equal(t, []bool{true, true}, []bool{ends[0].Done, ends[1].Done})
		assert.Equal(t, gum.Inside, ends[1].View.Verdict, "after the move")

		captures := s.Folder.Captures()
		assert.Len(t, captures, 8+1+8+1+8+1)
		assert.Equal(t, record.FeatureMove, captures[17].Feature)
		assert.Equal(t, 1.0, captures[17].Value)
		assert.Equal(t, "notch", captures[17].Unit)
		assert.True(t, captures[17].Unseated, "as it was typed")
		assert.Equal(t, 0.165, captures[25].Value)
		assert.Equal(t, []float64{0.5, 0, -1}, []float64{captures[26].Value, captures[26].Near, captures[26].Far}, "of one side alone")
	})
}

func TestTheListIsTickedWhileItHolds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		of := string(sheet.ExampleTOML())
		for _, name := range []string{"caps-marked", "shims-tagged"} {
			of += "\n[[check]]\nname = \"" + name + "\"\nstage = \"as-found\"\nwhat = \"" + name + "\"\nrequired = true\n"
		}
		folder, err := job.Create(filepath.Join(t.TempDir(), "job"), []byte(of))
		require.NoError(t, err)
		t.Cleanup(func() { assert.NoError(t, folder.Close()) })
		s := &Session{Folder: folder, HandsOff: true}
		var wanted []string
		attend(t, s, job.Request{Stage: record.StageAsFound, Feature: record.FeatureBacklash}, func(hub *Hub) {
			typeAll(hub, 8, 0.16)
			hub.Request(job.Request{Stage: record.StageFitUp, Feature: record.FeatureRunoutFlange})
			settle()
			for range 3 { // one press more than there is to tick
				v := hub.Latest()
				wanted = append(wanted, v.Tick.Name+" "+string(v.State))
				hub.Do(s.Tick("caps-marked")) // twice in a row is once
				if v.Tick.Name != "" {
					hub.Do(s.Tick(v.Tick.Name))
				}
				settle()
			}
		})
		assert.Equal(t, []string{"caps-marked on hold", "shims-tagged on hold"}, wanted[:2])
		assert.NotContains(t, wanted[2], "on hold")
		assert.Len(t, folder.Captures(), 8+2)
	})
}

func TestNotesAndPhotosAreKeptWhileMeasuring(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := exampleSession(t)
		photo := filepath.Join(t.TempDir(), "tooth 3.jpg")
		require.NoError(t, os.WriteFile(photo, []byte("abc"), 0o600))
		var said []string
		attend(t, s, job.Request{Stage: record.StageAsFound, Feature: record.FeatureBacklash}, func(hub *Hub) {
			typeAll(hub, 2, 0.16)
			for _, keep := range [][2]string{{"", "a chip on the toe"}, {photo, ""}, {photo + "x", ""}} {
				hub.Do(s.Keep(keep[0], keep[1]))
				settle()
				said = append(said, hub.Latest().Alert)
			}
			typeAll(hub, 6, 0.161)
			said = append(said, string(hub.Latest().State), hub.Latest().Alert)
		})
		assert.Equal(t, []string{"Stored with backlash, position 3.", "Stored with backlash, position 3."}, said[:2])
		assert.Contains(t, said[2], "NOT stored: attach: ")
		assert.Equal(t, []string{"round done", ""}, said[3:], "and goes on")

		captures := s.Folder.Captures()
		require.Len(t, captures, 10)
		assert.Equal(t, "backlash, position 3: a chip on the toe", captures[2].Note)
		assert.Equal(t, "attachments/0004-tooth-3.jpg", captures[3].Attachment.Path)
		assert.Equal(t, "backlash, position 3", captures[3].Note)
	})
}

func port(label, unit string) Port {
	return Port{Label: label, Profile: device.Profile{Name: label, Unit: unit, Resolution: 0.01}}
}

func TestGaugesFor(t *testing.T) {
	dial, second := port("dial", "mm"), port("second dial", "in")
	wrench, air, thermometer, any := port("wrench", "N·m"), port("air", "bar"), port("thermometer", "°C"), port("any", "")
	for _, tt := range []struct {
		name    string
		ports   []Port
		feature string
		want    []string
	}{
		{"the first that fits", []Port{wrench, dial, second}, record.FeatureBacklash, []string{"dial"}},
		{"another unit of the same kind", []Port{wrench, second}, record.FeatureRunoutBackFace, []string{"second dial"}},
		{"torque", []Port{dial, wrench}, record.FeatureCapBolts, []string{"wrench"}},
		{"an air test is read as a pressure, with the temperature", []Port{dial, thermometer, air}, record.FeatureLeakDown, []string{"air", "thermometer"}},
		{"no thermometer with a backlash", []Port{dial, thermometer}, record.FeatureBacklash, []string{"dial"}},
		{"one that names its units itself", []Port{wrench, any}, record.FeatureBacklash, []string{"any"}},
		{"what fits goes before what may", []Port{any, dial}, record.FeatureBacklash, []string{"dial"}},
		{"nothing fits", []Port{wrench}, record.FeatureBacklash, []string{}},
		{"nothing reads litres", []Port{any, dial}, record.FeatureOilFill, []string{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			labels := []string{}
			for _, p := range PortsFor(tt.ports, tt.feature) {
				labels = append(labels, p.Label)
			}
			assert.Equal(t, tt.want, labels)
		})
	}
}

func TestGaugesOfOnePortAreOneSource(t *testing.T) {
	dial, second, far := port("dial", "mm"), port("second", "mm"), port("far", "mm")
	dial.Name, second.Name, far.Name = "/dev/ttyUSB0", "/dev/ttyUSB0", "tcp://bridge:4001"
	assert.Len(t, Sources([]Port{dial, far, second}), 2)
}

func TestRoundHearsItsOwnGauges(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		other := keyedEvent(0.99)
		other.Gauge, other.Reading.Gauge = "wrench", "wrench"
		gone := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		ctx, quit := context.WithTimeout(t.Context(), time.Minute)
		defer quit()
		g := Start(ctx, said{keyedEvent(0.15), other, gone})
		defer g.Stop()
		store := &scratch{}
		out, err := Run(ctx, Config{Round: newKeyedRound(t, store), Gauges: g, Stay: true, Labels: []string{"dial"}})
		require.NoError(t, err)
		require.Len(t, store.captures, 1)
		assert.Equal(t, 0.15, store.captures[0].Value)
		assert.Equal(t, "cable out", out.Lost)
	})
}

func TestLossOfAGaugeIsKnownToTheNextRound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		gone := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		ctx, quit := context.WithTimeout(t.Context(), time.Minute)
		defer quit()
		g := Start(ctx, said{gone})
		defer g.Stop()
		for heard, want := range map[string]logger.State{"wrench": logger.StateWaiting, "dial": logger.StateLost} {
			ctx, end := context.WithTimeout(ctx, time.Second)
			out, err := Run(ctx, Config{Round: newKeyedRound(t, &scratch{}), Gauges: g, Stay: true, Labels: []string{heard}})
			end()
			require.NoError(t, err)
			assert.Equal(t, want, out.View.State, heard)
		}
	})
}

func TestResolutionOfAGauge(t *testing.T) {
	for unit, want := range map[string]float64{"mm": 0.01, "bar": 1, "in": 0.254, "lbf·in": 0.001129848290276167, "": 0} {
		assert.InDelta(t, want, port("gauge", unit).resolution(), 1e-15, unit)
	}
}

// A step that is outside is the next one again: what of it is outside is measured
// anew.
func TestNextStepThatIsOutsideIsMeasuredAgain(t *testing.T) {
	folder, err := job.Create(t.TempDir(), sheet.ExampleTOML())
	require.NoError(t, err)
	defer folder.Close()
	s := &Session{Folder: folder}
	first, err := s.follow(job.Request{}, job.Request{Stage: record.StageBench, Feature: record.FeatureWheelBolts, Again: true})
	require.NoError(t, err)
	assert.Equal(t, job.Request{Stage: record.StageAsFound, Feature: record.FeatureBacklash}, first)
	again, err := s.follow(job.Request{}, first)
	require.NoError(t, err)
	assert.True(t, again.Remeasure)
}

func TestEveryWatcherIsWoken(t *testing.T) {
	h := NewHub()
	one, stopOne := h.Watch()
	two, stopTwo := h.Watch()
	defer stopTwo()
	h.Publish(logger.View{Stored: 1})
	h.Publish(logger.View{Stored: 2}) // neither waits for the other, nor the publisher for them
	for _, wake := range []<-chan struct{}{one, two} {
		assert.Len(t, wake, 1)
		<-wake
	}
	stopOne()
	h.Poke()
	assert.Len(t, one, 0)
	assert.Len(t, two, 1)
	assert.Equal(t, 2, h.Latest().Stored)
}
