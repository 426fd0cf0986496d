// Package identify finds out which profile fits the bytes of a gauge: those
// captured before (Bytes), or those of a port it listens to (Port).
//
// Each form of frame proposes candidates from what it sees in the bytes: lines
// and the numbers in them, Modbus frames with a right check, frames of one length
// with a header and a checksum. What speaks for each is counted in bits: how
// short the bytes can be written with it, how far its value moved, the name
// and the unit beside it. A proposal carries its margin to the next that reads
// other values; below a least margin it is no answer but a question (Sure). A
// wrong profile costs a fitter more than none.
package identify

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"crownlog/device"
	"crownlog/device/frame"
)

// A Proposal is a profile that fits what was received, with the evidence.
type Proposal struct {
	Profile device.Profile
	Clean   float64  // share of the frames that were sound, 0 to 1
	Frames  int      // sound frames
	Broken  int      // garbled frames
	Rate    float64  // sound frames a second; 0: not known
	Ends    int      // frames that the beginning and the end of the bytes cut
	Samples []Sample // the first few frames, decoded
	Faults  []string // the first few garbled ones, quoted, and why
	Notes   []string // what is doubtful
	Margin  float64  // bits ahead of the best that reads other values; +Inf: there is none; below 0 behind it
}

// Sure reports whether the evidence leaves no other proposal near.
func (p Proposal) Sure() bool { return p.Margin >= leastMargin }

// A Sample is one decoded frame of the evidence.
type Sample struct {
	Raw   string // text, or hex for a binary frame
	Value float64
	Unit  string
}

// The least evidence for a proposal.
const (
	// leastFrames in a row are seldom alike by chance; a gauge that sends once
	// a second gives as many while a fitter waits.
	leastFrames = 5
	// leastClean is the share of sound frames: a bad cable spoils one frame in
	// ten, a wrong form nearly all of them.
	leastClean = 0.8
	// mostSamples are shown, enough to compare with the display.
	mostSamples = 5
)

// A candidate is a profile to try on captured bytes.
type candidate struct {
	profile  device.Profile
	evidence float64   // in bits
	values   []float64 // that it reads, to know another that reads the same
	stream   []byte    // the bytes in the form that the profile reads; nil: as captured
	most     float64   // the margin is no more than this, whatever else was tried
	notes    []string
}

// mostBehind is how far behind the best a candidate is still named, in bits: one
// in a million.
const mostBehind = 20

// same reports whether two candidates are one answer: they read the same values.
func (c candidate) same(o candidate) bool { return slices.Equal(c.values, o.values) }

// Bytes proposes profiles for bytes received from a gauge in the
// time span (0: not known), the best first. It returns none where nothing
// fits well enough: noise, too few frames, or a wrong line speed.
//
// Of Modbus the bytes are the answers of the device; the question is proposed from
// them where it was not heard, with register 0.
func Bytes(b []byte, span time.Duration) []Proposal { return proposals(b, span, false) }

// proposals is Bytes; asked says that the questions among the bytes are ours.
func proposals(b []byte, span time.Duration, asked bool) []Proposal {
	list := modbusCandidates(b, asked)
	for _, next := range []func([]byte) []candidate{textCandidates, sevenBitCandidates, packedCandidates} {
		if len(list) == 0 {
			list = next(b)
		}
	}
	slices.SortStableFunc(list, func(a, b candidate) int { return cmp.Compare(b.evidence, a.evidence) })
	var found []Proposal
	var fit []candidate
	for _, c := range list {
		if len(fit) > 0 && c.evidence < fit[0].evidence-mostBehind {
			break
		}
		if slices.ContainsFunc(fit, c.same) {
			continue
		}
		if c.stream == nil {
			c.stream = b
		}
		if p, ok := Check(c.profile, c.stream, span); ok {
			p.Notes = append(p.Notes, c.notes...)
			found, fit = append(found, p), append(fit, c)
		}
	}
	for i, c := range fit {
		next := math.Inf(-1)
		if len(fit) > 1 {
			next = fit[max(0, 1-i)].evidence // the second for the first, the first for the others
		}
		found[i].Margin = min(c.evidence-next, c.most)
	}
	return found
}

// Check decodes captured bytes with the profile and reports what came
// of it, and whether that is enough to believe in the profile. span is the
// time of the capture, 0 where it is not known.
func Check(p device.Profile, b []byte, span time.Duration) (Proposal, bool) {
	out := Proposal{Profile: p}
	dec, err := p.NewDecoder()
	if err != nil {
		return out, false
	}
	bad, changed := 0, false // bad are bytes in garbled frames
	fault := func(format string, args ...any) {
		if len(out.Faults) < mostSamples {
			out.Faults = append(out.Faults, fmt.Sprintf(format, args...))
		}
	}
	dec.Feed(time.Time{}, b, func(f *frame.Frame) {
		if f.Bad == "" {
			out.Frames++
			if len(out.Samples) < mostSamples {
				out.Samples = append(out.Samples, Sample{fmt.Sprintf(map[bool]string{false: "%s", true: "% X"}[f.Binary], f.Raw), f.Value, cmp.Or(f.Unit, p.Unit)})
			}
			changed = changed || f.Value != out.Samples[0].Value
			return
		}
		if fault("%s: %q", f.Bad, f.Raw); out.Frames+out.Ends == 0 { // a capture begins in the middle of a frame
			out.Ends++
			return
		}
		out.Broken++
		bad += len(f.Raw)
	})
	dec.Flush()
	if n := dec.Partial(); n > 0 {
		bad += n
		out.Ends++
		fault("frame cut short after %d bytes at the end", n)
	}
	out.Clean = float64(out.Frames) / float64(max(1, out.Frames+out.Broken))
	if span > 0 {
		out.Rate = float64(out.Frames) / span.Seconds()
	}
	if out.Frames > 0 && !changed {
		out.Notes = append(out.Notes, "the value never changed: move the gauge and listen again to be sure")
	}
	// The garbled bytes count too: of noise they are the most.
	return out, out.Frames >= leastFrames && out.Clean >= leastClean && 2*bad <= len(b)
}

// resolutionOf returns the smallest step that a number of decimals shows, 0
// where they tell nothing.
func resolutionOf(decimals int) float64 {
	const mostDecimals = 9 // of a display; more are the digits of a computed number
	if decimals <= 0 || decimals > mostDecimals {
		return 0
	}
	return math.Pow10(-decimals)
}
