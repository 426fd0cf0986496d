package device

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"time"

	"crownlog/device/frame"
)

// A Profile says how to listen to one kind of gauge. It is read from a TOML
// file; Frame names the one table, of the same name, that describes what the
// gauge sends:
//
//	name = "dial"
//	quantity = "length"
//	unit = "mm"            # of lines that name none
//	resolution = 0.001
//	frame = "text"
//
//	[serial]
//	baud = 4800
//	data_bits = 7
//	parity = "even"
//
//	[text]
//	decimal = "comma"
//	words = { "H" = "hold" }
type Profile struct {
	Name       string        `toml:"name"`
	Title      string        `toml:"title,omitempty"`      // one line for a list
	Quantity   string        `toml:"quantity,omitempty"`   // "length", "torque", "pressure", "angle", "temperature"; "": any
	Unit       string        `toml:"unit,omitempty"`       // of values whose frame names none, as a Reading carries it
	Resolution float64       `toml:"resolution,omitempty"` // smallest step of the display, in Unit; 0: not known
	Mode       string        `toml:"mode,omitempty"`       // "streams" (the default) or "asked"
	Lag        float64       `toml:"lag_s,omitempty"`      // seconds by which a reading is behind what it shows
	Sends      string        `toml:"sends,omitempty"`      // "on-press": one reading at each press of its key or click of the wrench; "on-change": one when the value changes; "": all the time
	Ask        string        `toml:"ask,omitempty"`        // what to send in mode "asked"; modbus makes its own
	AskHex     string        `toml:"ask_hex,omitempty"`    // the same as hex bytes
	Timeout    Duration      `toml:"timeout,omitempty"`    // wait for an answer; 0: 500 ms
	Interval   Duration      `toml:"interval,omitempty"`   // between questions, or the usual time between readings of a stream; 0: 100 ms, or learned
	Frame      string        `toml:"frame"`                // "text", "packed", "modbus" or "scpi"
	Serial     Serial        `toml:"serial"`
	Text       *frame.Text   `toml:"text,omitempty"`
	Packed     *frame.Packed `toml:"packed,omitempty"`
	Modbus     *frame.Modbus `toml:"modbus,omitempty"`
	SCPI       *frame.SCPI   `toml:"scpi,omitempty"`
}

// Names of the modes and of the frame kinds.
const (
	ModeStreams = "streams"
	ModeAsked   = "asked"

	SendsOnPress  = "on-press"
	SendsOnChange = "on-change"

	FrameText   = "text"
	FramePacked = "packed"
	FrameModbus = "modbus"
	FrameSCPI   = "scpi"
)

// A Duration is a time span written as "500ms" or "2s".
type Duration time.Duration

// UnmarshalText implements encoding.TextUnmarshaler.
func (d *Duration) UnmarshalText(b []byte) error {
	v, err := time.ParseDuration(string(b))
	if err != nil || v < 0 {
		return fmt.Errorf("duration %q: want 0 or more with ms, s or m, like 500ms", b)
	}
	*d = Duration(v)
	return nil
}

// MarshalText implements encoding.TextMarshaler.
func (d Duration) MarshalText() ([]byte, error) { return []byte(time.Duration(d).String()), nil }

// short reports whether d was meant to be longer: a number without a unit is
// nanoseconds.
func (d Duration) short() bool { return d != 0 && time.Duration(d) < time.Millisecond }

// or returns d, or def where d is zero.
func (d Duration) or(def time.Duration) time.Duration { return cmp.Or(time.Duration(d), def) }

// NewDecoder returns a decoder of one stream of the gauge.
func (p Profile) NewDecoder() (frame.Decoder, error) {
	switch {
	case p.Frame == FrameText:
		return cmp.Or(p.Text, &frame.Text{}).NewDecoder()
	case p.Frame == FramePacked && p.Packed != nil:
		return p.Packed.NewDecoder()
	case p.Frame == FrameModbus && p.Modbus != nil:
		return p.Modbus.NewDecoder()
	case p.Frame == FrameSCPI && p.SCPI != nil:
		return p.SCPI.NewDecoder()
	}
	return nil, frame.Want(false, "frame", p.Frame, "text, or packed, modbus or scpi with a table of that name")
}

// channel is the one this gauge has in a stream of several, "" for none.
func (p Profile) channel() string { return cmp.Or(p.Text, &frame.Text{}).Channel }

// Beside says why a gauge cannot be on one port with q, nil where they can: they are
// asked in turn, or a channel tells their lines apart.
func (p Profile) Beside(q Profile) error {
	asked := p.Mode == ModeAsked
	ask, _ := p.Question() // one that is missing is told by Check
	other, _ := q.Question()
	switch {
	case !reflect.DeepEqual(p.Serial.filled(), q.Serial.filled()):
		return errors.New("their tables [serial] differ")
	case asked != (q.Mode == ModeAsked):
		return errors.New("one is asked, the other sends by itself")
	case asked && bytes.Equal(ask, other):
		return errors.New("both are asked the same")
	case !asked && (p.channel() == "" || q.channel() == "" || p.channel() == q.channel()):
		return errors.New("each needs a channel of its own")
	}
	return nil
}
