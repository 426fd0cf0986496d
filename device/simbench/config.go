package simbench

import "time"

// Config says which axle is on the bench and how fast its time passes. The
// zero value is usable.
type Config struct {
	Seed    int64
	Pace    float64       // simulated seconds per real one; 0: as fast as the reader acknowledges
	AckWait time.Duration // real time to wait for an acknowledgement; 0: 200 ms
}

// defaultAckWait is far longer than a reader takes that acknowledges at all.
const defaultAckWait = 200 * time.Millisecond

// The set is a usual one of a light axle. The deviations are those of a sound
// one that was run: a fifth of the usual window from the lowest to the highest.
const (
	pinionTeeth  = 11
	wheelTeeth   = 43
	eccentricity = 0.012 // mm of backlash, amplitude once per turn
	warp         = 0.004 // mm of backlash, amplitude twice per turn
	toothError   = 0.002 // mm of backlash, standard deviation tooth to tooth
	pinionRunout = 0.003 // mm of backlash, amplitude once per pinion turn
)

// startOfTime is when the bench's clock begins: a fixed day, so that a record
// of a seed is the same whenever it is made.
var startOfTime = time.Date(2026, time.March, 1, 8, 0, 0, 0, time.UTC)
