package identify_test

import (
	"fmt"
	"math"
	"math/rand"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
	"crownlog/device/identify"
)

// What identify made of an invented stream.
const (
	right  = "right"
	honest = "honest"
	wrong  = "wrong"
)

// answerTo says what identify's answer to a stream is worth, and what it was.
func answerTo(t *testing.T, s invented) (string, string) {
	found := identify.Bytes(s.bytes, 3*time.Second)
	if len(found) == 0 || !found[0].Sure() {
		said := "no proposal"
		if len(found) > 0 {
			said = fmt.Sprintf("margin %.1f of %d, %q %v, %q %v", found[0].Margin, len(found), found[0].Samples[0].Raw, found[0].Samples[0].Value, found[min(1, len(found)-1)].Samples[0].Raw, found[min(1, len(found)-1)].Samples[0].Value)
		}
		return honest, said
	}
	p := found[0].Profile
	d, err := p.NewDecoder()
	require.NoError(t, err, s.name)
	var got []float64
	unit := p.Unit
	stream := s.bytes
	if p.Modbus != nil {
		stream = s.asked(p.Modbus.Request())
	}
	d.Feed(time.Time{}, stream, func(f *frame.Frame) {
		if f.Bad == "" {
			got = append(got, f.Value)
			if f.Unit != "" {
				unit = f.Unit
			}
		}
	})
	d.Flush()
	said := p.Frame
	if p.Text != nil {
		said += fmt.Sprintf(" %+v", *p.Text)
	}
	if p.Packed != nil {
		said += fmt.Sprintf(" %+v", *p.Packed)
	}
	if p.Modbus != nil {
		said += fmt.Sprintf(" %+v", *p.Modbus)
	}
	said += fmt.Sprintf(" margin %.1f", found[0].Margin)
	switch {
	case s.open:
		return wrong, said + ": nothing tells which"
	case !same(got, s):
		return wrong, said + ": other values"
	case s.unit != "" && unit != s.unit || s.unit == "" && !s.binary && unit != "":
		return wrong, said + ": unit " + unit
	}
	return right, said
}

// same reports whether the values are those that were shown, in their order; the
// first may be cut, and one in ten may be missing. Of a binary frame the decimal
// point is not seen.
func same(got []float64, s invented) bool {
	if len(got) < len(s.values)*9/10 {
		return false
	}
	got = got[1:]
	largest := func(v []float64) float64 {
		return math.Max(math.Abs(slices.Max(v)), math.Abs(slices.Min(v)))
	}
	scale := 1.0
	if s.binary {
		scale = math.Pow10(int(math.Round(math.Log10(largest(s.values) / largest(got)))))
	}
	next := 0
	for _, v := range got {
		for ; ; next++ {
			if next == len(s.values) {
				return false
			}
			if math.Abs(v*scale-s.values[next]) <= 1e-6*math.Max(1, math.Abs(v*scale)) {
				break
			}
		}
		next++
	}
	return true
}

// tally answers all streams, each heard from the middle of a frame, and counts
// what the answers are worth.
func tally(t *testing.T, r *rand.Rand, streams []invented) map[string]int {
	count := map[string]int{}
	for _, s := range streams {
		s.bytes = s.bytes[r.Intn(6):]
		worth, said := answerTo(t, s)
		count[worth]++
		if worth == wrong || os.Getenv("CROWNLOG_SHOW") != "" && worth != right {
			t.Logf("%s: %s: %s", worth, s.name, said)
		}
		if worth == honest {
			assert.NotEmpty(t, identify.Heard(s.bytes), s.name)
		}
	}
	t.Logf("%d streams: %v", len(streams), count)
	return count
}

// TestAnyGauge: of many invented streams identify names nearly none wrong and
// three in four right; the rest it admits, and shows what it heard.
func TestAnyGauge(t *testing.T) {
	r := rand.New(rand.NewSource(14))
	streams := append(textStreams(r, 130, nil), packedStreams(r, 130, nil)...)
	require.GreaterOrEqual(t, len(streams), 200)
	count := tally(t, r, streams)
	assert.LessOrEqual(t, count[wrong], len(streams)/100)
	assert.GreaterOrEqual(t, count[right], len(streams)*3/4)
}

// TestAnyGaugeHardlyMoved: of a few frames, or of a gauge that rests, less can be
// told, and nothing wrong must be.
func TestAnyGaugeHardlyMoved(t *testing.T) {
	r := rand.New(rand.NewSource(15))
	at := func(base int) *motion {
		return &motion{"rest", func(r *rand.Rand, n int) []int {
			list := make([]int, n)
			for i := range list {
				list[i] = base + r.Intn(3)
			}
			return list
		}}
	}
	var streams []invented
	for _, n := range []int{14, 25} {
		streams = append(append(streams, textStreams(r, n, nil)...), packedStreams(r, n, nil)...)
	}
	for _, base := range []int{0, 158, -2, 5203, 1017} {
		streams = append(append(streams, textStreams(r, 60, at(base))...), packedStreams(r, 60, at(base))...)
	}
	// Which of two numbers alike is measured shows only when it is moved.
	streams = slices.DeleteFunc(streams, func(s invented) bool { return s.open })
	count := tally(t, r, streams)
	assert.LessOrEqual(t, count[wrong], len(streams)/100)
}
