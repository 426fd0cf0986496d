// Package frame cuts the bytes of a gauge into frames and reads the value in
// each.
//
// A description (Text, Packed, Modbus or SCPI) makes a Decoder, which takes
// bytes as they come and gives a Frame for every message they complete: a value
// with its unit and flags, or the reason why it cannot be trusted. A value is
// never guessed.
//
// A new form of frame is a description with a NewDecoder, and a line in the
// table of decoders in fuzz_test.go.
//
// # What cannot be seen
//
// Text has no checksum. A lost minus sign, a lost leading digit of an unpadded
// number, or a digit that became another digit looks like a value. Parity on
// the line turns most such errors into NUL bytes, and a line with one of those
// is refused.
package frame
