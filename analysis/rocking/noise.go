package rocking

import "math"

// A noiseMeter estimates the standard deviation of the gauge's noise from second
// differences of its readings, which a steady motion does not enter. They are kept as counts in quarter-octave bins,
// so memory is constant and the estimate is a quantile: the few large
// differences where the wheel starts and stops do not move it.
type noiseMeter struct {
	zero  uint64
	total uint64
	bins  [noiseBins]uint64
}

const (
	noiseBins  = 160
	noiseFirst = (1023 - 30) << 2 // quarter-octave index of 2^-30
	// The quantile used, of the magnitude of a normal variable, is at noiseZ
	// deviations.
	noiseQuantile = 0.4
	noiseZ        = 0.5244            // Φ⁻¹((1+0.4)/2)
	noiseGain     = 2.449489742783178 // sqrt(6): a second difference of white noise has so many times its deviation
)

func (m *noiseMeter) add(d float64) {
	m.total++
	i := int(math.Float64bits(d)&^(1<<63)>>50) - noiseFirst
	if i < 0 {
		m.zero++
		return
	}
	if i >= noiseBins {
		i = noiseBins - 1
	}
	m.bins[i]++
}

// sigma returns the noise in the unit of the readings; 0 with fewer than eight of
// them, and for a gauge whose digits stand still.
func (m *noiseMeter) sigma() float64 {
	if m.total < 8 {
		return 0
	}
	want := noiseQuantile * float64(m.total)
	seen := float64(m.zero)
	if seen >= want {
		return 0
	}
	for i, n := range m.bins {
		if seen+float64(n) >= want {
			lo := math.Float64frombits(uint64(i+noiseFirst) << 50)
			hi := math.Float64frombits(uint64(i+noiseFirst+1) << 50)
			at := lo + (hi-lo)*(want-seen)/float64(n)
			return at / (noiseZ * noiseGain)
		}
		seen += float64(n)
	}
	return 0
}
