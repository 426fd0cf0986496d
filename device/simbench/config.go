package simbench

import "time"

// Config describes the axle, the gauges and the pace. The zero value is a
// usable light-axle set. A figure left at zero takes
// its default; to have none of something, give a negative one.
type Config struct {
	Seed         int64
	PinionTeeth  int     // 0: 11
	WheelTeeth   int     // 0: 43
	Positions    int     // places around the wheel; 0: 8
	MeanBacklash float64 // mm at the heel, tangential, before any move; 0: by the seed, 0.17 to 0.20
	Eccentricity float64 // mm of backlash, amplitude once per turn; 0: 0.012
	Warp         float64 // mm of backlash, amplitude twice per turn; 0: 0.004
	ToothError   float64 // mm of backlash, standard deviation tooth to tooth; 0: 0.002
	PinionRunout float64 // mm of backlash, amplitude once per pinion turn; 0: 0.003
	NotchGain    float64 // mm of backlash per notch of the crown wheel towards the pinion; 0: by the seed, near -0.042
	Resolution   float64 // mm, of the indicator; 0: 0.001
	Noise        float64 // mm, standard deviation of one indicator reading; 0: 0.0015
	Rate         float64 // Hz, of the indicator; 0: 20

	BareNumbers bool // the indicator sends no unit word

	Start   time.Time     // start of simulated time; zero: 1 March 2026, 08:00 UTC
	Pace    float64       // simulated seconds per real one; 0: as fast as the reader acknowledges
	AckWait time.Duration // real time to wait for an acknowledgement; 0: 200 ms
	// FreeRunning is for readers that open PortName by themselves and cannot
	// acknowledge: gauges talk all the time, at Pace (0: 1).
	FreeRunning bool
}

// withDefaults fills in what c leaves at zero.
func (c Config) withDefaults() Config {
	for _, d := range []struct {
		field *int
		value int
	}{{&c.PinionTeeth, 11}, {&c.WheelTeeth, 43}, {&c.Positions, 8}} {
		if *d.field <= 0 {
			*d.field = d.value
		}
	}
	for _, d := range []struct {
		field *float64
		value float64
	}{
		{&c.Eccentricity, 0.012}, {&c.Warp, 0.004}, {&c.ToothError, 0.002}, {&c.PinionRunout, 0.003},
		{&c.Resolution, 0.001}, {&c.Noise, 0.0015}, {&c.Rate, 20},
	} {
		switch {
		case *d.field == 0:
			*d.field = d.value
		case *d.field < 0:
			*d.field = 0
		}
	}
	if c.Start.IsZero() {
		c.Start = time.Date(2026, time.March, 1, 8, 0, 0, 0, time.UTC)
	}
	if c.AckWait <= 0 {
		c.AckWait = 200 * time.Millisecond
	}
	if c.FreeRunning && c.Pace <= 0 {
		c.Pace = 1
	}
	return c
}
