package torque

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Sequence returns the order in which to tighten n bolts numbered round the
// circle from 1: opposite pairs, each pair far from the one before. It returns
// nil for n below 1.
// Source: common practice for 8, 10 and 12 bolts; other counts by the same
// rule.
func Sequence(n int) []int {
	if n < 1 {
		return nil
	}
	order := make([]int, 0, n)
	if n%2 == 1 { // no opposite bolts: step by just under half the circle
		for i := range n {
			order = append(order, i*(n/2)%n+1) // n/2 and an odd n have no common factor
		}
		return order
	}
	half := n / 2
	for _, i := range quartered(half) {
		order = append(order, i+1, i+1+half)
	}
	return order
}

// quartered lists 0..half-1 so that each is far from the one before: the
// first, then half the way round, then what lies between.
func quartered(half int) []int {
	step := max(half/2, 1)
	starts := []int{0}
	if step > 1 {
		starts = quartered(step)
	}
	var order []int
	for _, first := range starts {
		for i := first; i < half; i += step {
			order = append(order, i)
		}
	}
	return order
}

// AdapterSetting returns what to set on a wrench of length l, from the middle
// of the grip to the square drive, so that torque reaches the bolt through an
// adapter of length e at angleDeg to the handle:
//
//	set = torque · l / (l + e·cos(angle))
//
// 0° lengthens the wrench, 180° shortens it, 90° changes nothing. It returns
// NaN for a wrench without length or an adapter that reaches back to the grip.
// Source: US Army TM 9-254 (from memory, no page at hand); aircraft maintenance
// practice.
func AdapterSetting(torque, l, e, angleDeg float64) float64 {
	reach := l + e*math.Cos(angleDeg*math.Pi/180)
	if !(l > 0) || !(reach > 0) {
		return math.NaN()
	}
	return torque * l / reach
}

// AdapterTorque returns the torque at the bolt for a wrench that shows set: the
// inverse of AdapterSetting.
func AdapterTorque(set, l, e, angleDeg float64) float64 {
	return set / AdapterSetting(1, l, e, angleDeg)
}

// ToolLimit returns the permissible deviation, per cent of the torque shown, of
// a hand torque tool whose largest torque is largest N·m, where nothing better
// is known of it: that of type I classes B, C and E and of type II classes A, B
// and C, 6 up to 10 N·m and 4 above; 6 where largest is NaN. The classes left, small screwdrivers and
// tools with fixed settings, may be off by 6.
// Source: ISO 6789-1:2017; type II class A is confirmed, the others from memory.
func ToolLimit(largest float64) float64 {
	if largest > 10 {
		return 4
	}
	return 6
}

// ErrUnknownThread is returned for a thread or property class with no table
// entry.
var ErrUnknownThread = errors.New("unknown thread or property class")

// coarsePitch is the pitch of a thread named without one. Source: ISO 261.
var coarsePitch = map[float64]float64{3: 0.5, 3.5: 0.6, 4: 0.7, 5: 0.8, 6: 1, 7: 1, 8: 1.25, 10: 1.5, 12: 1.75,
	14: 2, 16: 2, 18: 2.5, 20: 2.5, 22: 2.5, 24: 3, 27: 3, 30: 3.5}

// parseThread reads "M10", "M10x1.25" or "m10 × 1,25".
func parseThread(thread string) (d, pitch float64, err error) {
	plain := strings.NewReplacer(" ", "", ",", ".", "×", "x", "*", "x").Replace(strings.ToLower(thread))
	size, named, hasPitch := strings.Cut(strings.TrimPrefix(plain, "m"), "x")
	d, _ = strconv.ParseFloat(size, 64) // what cannot be read is 0 or infinite
	pitch = coarsePitch[d]
	if hasPitch {
		pitch, _ = strconv.ParseFloat(named, 64)
	}
	if !strings.HasPrefix(plain, "m") || !(pitch > 0) || !(pitch <= d/3) || math.IsInf(d, 0) {
		return 0, 0, fmt.Errorf("%w: %q", ErrUnknownThread, thread)
	}
	return d, pitch, nil
}

// stressArea returns the stress area of a metric thread, in mm²:
//
//	As = π/4 · ((d2+d3)/2)²,  d2 = d - 0.75·H,  d3 = d - 17/12·H,  H = √3/2·P
//
// Source: ISO 898-1, 9.1.6.1.
func stressArea(d, pitch float64) float64 {
	mean := d - (0.75+17.0/12)/2*math.Sqrt(3)/2*pitch
	return math.Pi / 4 * mean * mean
}

// proofStress is the stress under proof load, MPa. Class 8.8 is 600 above M16.
// Source: ISO 898-1, table 3 (one public copy of the table).
var proofStress = map[string]float64{"4.6": 225, "4.8": 310, "5.6": 280, "5.8": 380, "6.8": 440, "8.8": 580,
	"9.8": 650, "10.9": 830, "12.9": 970}

// proofLoad returns the nominal diameter of a thread, mm, and its stress area times
// the proof stress of its property class, N. The printed table is not a plain rounding
// of it: up to 0.5 % off.
func proofLoad(thread, class string) (d, load float64, err error) {
	d, pitch, err := parseThread(thread)
	class = strings.TrimSpace(class)
	stress, ok := proofStress[class]
	if d > 16 && class == "8.8" {
		stress = 600
	}
	if err == nil && !ok {
		err = fmt.Errorf("%w: class %q", ErrUnknownThread, class)
	}
	return d, stressArea(d, pitch) * stress, err
}

// BoltCeiling returns the torque, N·m, above which a bolt of this thread and
// class is overloaded however it is lubricated: its proof load with the nut
// factor K = 0.20 of dry plain steel. It is for questioning a mistyped spec;
// it is no spec.
//
// Source: T = K·d·F with ISO 898-1 proof loads; K from memory of handbooks.
func BoltCeiling(thread, class string) (float64, error) {
	d, load, err := proofLoad(thread, class)
	return 0.20 * d / 1000 * load, err
}
