package analysis

// Advice is what to do with the adjusters or the shims after a round.
type Advice struct {
	Needed     bool    // false: leave the adjusters alone
	Notches    int     // each adjuster by so many; + brings the crown wheel towards the pinion as entered
	ShimMM     float64 // shim to change sides, mm; + brings the crown wheel towards the pinion as entered
	Predicted  float64 // mean backlash after the move, mm; NaN: no move
	PredictedU float64 // its standard uncertainty
	Target     float64 // the mean aimed at, mm; NaN: none
	SpreadFits bool    // the whole spread can fit in the window
	SignKnown  bool    // the way the backlash goes was learned from a move, not assumed
	Gain       float64 // change of the mean for each notch (or mm of shim) of +, mm
	GainU      float64 // its standard uncertainty
	Text       string  // what the hands do, in one or two sentences
}
