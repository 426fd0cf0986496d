// Package identify finds out which profile fits the bytes of a gauge: those
// captured before (Bytes), or those of a port it listens to (Port).
//
// Each form of frame proposes candidates from what it sees in the bytes: lines
// and their columns, Modbus answers with a right check, frames of one length
// with a header and a checksum. Every candidate then has to decode the bytes
// (Check), and those that do are ranked by the share of sound frames and by how
// hard it is for noise to pass as one. Where nothing fits well enough, nothing
// is proposed: a wrong profile costs a fitter more than none.
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
	Samples []Sample // the first few frames, decoded
	Notes   []string // what is doubtful
	rank    float64  // Clean times the worth of the candidate
}

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

// A candidate is a profile to try on captured bytes. worth ranks those that
// fit alike: more checks passed by a frame mean less chance that it is noise.
// A Modbus answer (10) has address, function, count and a CRC right; a packed
// frame (5) a header and a checksum; a number with an exponent (3) no other
// source than an instrument; of lines (2) those that keep their zeros before
// those that drop them, and whole lines before columns.
type candidate struct {
	profile device.Profile
	worth   float64
}

// Bytes proposes profiles for bytes received from a gauge in the
// time span (0: not known), the best first. It returns none where nothing
// fits well enough: noise, too few frames, or a wrong line speed.
//
// Of Modbus and SCPI the bytes are the answers of the device; the questions
// are proposed from them, with register 0 and READ? where they cannot show.
func Bytes(b []byte, span time.Duration) []Proposal {
	list := textCandidates(b)
	if text, serial, ok := sevenBits(b); ok && len(list) == 0 {
		list = textCandidates(text)
		for i := range list {
			list[i].profile.Serial = serial
		}
		if len(list) > 0 {
			b = text
		}
	}
	list = append(append(list, modbusCandidates(b)...), packedCandidates(b)...)
	var found []Proposal
	for _, c := range list {
		if p, ok := Check(c.profile, b, span); ok {
			if p.Profile.Unit == "" {
				p.Notes = append(p.Notes, unseen[p.Profile.Frame])
			}
			p.rank = p.Clean * c.worth
			found = append(found, p)
		}
	}
	slices.SortStableFunc(found, func(a, b Proposal) int { return cmp.Compare(b.rank, a.rank) })
	return found
}

// unseen says what frames of a kind do not show where they name no unit.
var unseen = map[string]string{
	device.FrameText:   "no unit was sent: set unit by the display, or nothing can be measured with this profile",
	device.FrameSCPI:   "no unit was sent: set unit by the display, or nothing can be measured with this profile",
	device.FramePacked: "the decimal point and the unit cannot be seen in such frames: set decimals and unit by the display",
	device.FrameModbus: "the unit cannot be seen in such frames: set it by the display",
}

// Check decodes captured bytes with the profile and reports what came
// of it, and whether that is enough to believe in the profile. span is the
// time of the capture, 0 where it is not known.
func Check(p device.Profile, b []byte, span time.Duration) (Proposal, bool) {
	out := Proposal{Profile: p}
	dec, err := p.NewDecoder()
	if err != nil {
		out.Notes = append(out.Notes, err.Error())
		return out, false
	}
	sound := 0 // bytes in sound frames
	begun, changed := false, false
	dec.Feed(b, func(f *frame.Frame) {
		switch {
		case f.Bad == "":
			out.Frames++
			sound += len(f.Raw)
			if len(out.Samples) < mostSamples {
				out.Samples = append(out.Samples, sampleOf(f, p.Unit))
			}
			changed = changed || f.Value != out.Samples[0].Value
		case begun: // a capture begins in the middle of a frame
			out.Broken++
		}
		begun = true
	})
	dec.Flush()
	if out.Frames > 0 {
		out.Clean = float64(out.Frames) / float64(out.Frames+out.Broken)
	}
	if span > 0 {
		out.Rate = float64(out.Frames) / span.Seconds()
	}
	if out.Frames > 0 && !changed {
		out.Notes = append(out.Notes, "the value never changed: move the gauge and listen again to be sure")
	}
	// Bytes outside of every frame count too: frames found by chance in noise
	// make up little of it.
	ok := out.Frames >= leastFrames && out.Clean >= leastClean && 2*sound >= len(b)
	return out, ok
}

func sampleOf(f *frame.Frame, unit string) Sample {
	s := Sample{Raw: string(f.Raw), Value: f.Value, Unit: cmp.Or(f.Unit, unit)}
	if f.Binary {
		s.Raw = fmt.Sprintf("% X", f.Raw)
	}
	return s
}

// mostDecimals bounds the decimals of a display; more are the digits of a
// computed number.
const mostDecimals = 9

// resolutionOf returns the smallest step that a number of decimals shows, 0
// where they tell nothing.
func resolutionOf(decimals int) float64 {
	if decimals <= 0 || decimals > mostDecimals {
		return 0
	}
	return math.Round(1e9/math.Pow10(decimals)) / 1e9
}
