// Package simbench is an invented axle on a bench: a crown wheel and pinion
// whose true backlash is known, hands that rock, lift, turn and tighten, and
// the gauges a fitter would use on it. Each gauge speaks plain text lines over
// a real pseudo-terminal (in process on Windows) and is opened by the same
// code as a gauge on a serial port.
//
// Everything runs on the bench's own clock, which stands still until the
// reader has acknowledged the last line, so that a seed gives the same run at
// any pace.
package simbench
