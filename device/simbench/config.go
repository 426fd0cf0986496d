package simbench

import "time"

// Config says which axle is on the bench and how fast its time passes. The
// zero value is usable.
type Config struct {
	Seed    int64
	Pace    float64       // simulated seconds per real one; 0: as fast as the reader acknowledges
	AckWait time.Duration // real time to wait for an acknowledgement; 0: 200 ms
}

// The set is a light axle's, invented. Its deviations move the backlash by some
// 0.03 mm over a turn, a fourth of a usual window, so that a sound set stays
// inside and the swing is far above the noise of the indicator.
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
