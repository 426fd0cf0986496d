package analysis

// A RunoutPoint is one indicator reading at an angle of the wheel.
type RunoutPoint struct{ AngleDeg, Value float64 }

// RunoutOptions says what is known of the gauge.
type RunoutOptions struct {
	Resolution float64 // mm; 0: taken from the readings
	MPE        float64 // largest permissible error of the gauge, half width, mm; 0: none known
}

// A Spike is a narrow high or low spot that was left out of the run-out.
type Spike struct {
	AngleDeg float64 `json:"angle_deg"`
	Value    float64 `json:"value"`   // the reading
	Height   float64 `json:"height"`  // above (+) or below (-) the surface round it
	Repeats  bool    `json:"repeats"` // seen again at the same place a turn later: burr, paint or bruise; else dirt or a jerk
}

// Runout is the movement of a face or bore over a turn. Lengths are mm.
type Runout struct {
	FIM           float64   `json:"fim"` // full indicator movement, spikes left out; NaN when refused
	FIMU          float64   `json:"fim_standard_uncertainty"`
	H1            *Harmonic `json:"h1"`              // once a turn: tilt or eccentricity; nil: could not be told
	H2            *Harmonic `json:"h2"`              // twice a turn: warp; nil: fewer than eight places
	ResidualSD    float64   `json:"residual_sd"`     // what both leave; NaN: nothing left to tell
	FIMIfReseated float64   `json:"fim_if_reseated"` // without the once-a-turn part
	Spikes        []Spike   `json:"spikes"`
	Points        int       `json:"points"`
	Turns         float64   `json:"turns"` // whole and part turns recognised; 1 for indexed points of one turn
	PeriodSeconds float64   `json:"-"`     // of a continuous turn; NaN for indexed points
	Closing       float64   `json:"-"`     // how far the turn does not come back to where it began; NaN: not seen
	Refused       bool      `json:"refused"`
	Faults        []Fault   `json:"faults"`
	Notes         []string  `json:"notes"`
}
