// Package device turns the bytes of gauges into readings.
//
//	port -> frame.Decoder -> frames -> Gauge -> events
//
// A Profile says how a kind of gauge speaks: the line setting, whether it
// streams or is asked, and the form of its frames. Its decoder cuts the stream
// into frames and says of each that it is sound, or why it is not; a value is
// never guessed. PortOpener opens a serial line, a bridge on the network or a
// cable that types, by its name. A Gauge runs one port in the caller's goroutine:
// it stamps the readings, raises the flags that no single frame shows (a changed
// unit, a frozen display, a repeated frame), tells of silence, and opens the port
// again after the cable was pulled. A gauge that is asked is asked anew when it
// has answered, or not in time; what comes beside the answers is counted. Several
// gauges on one port are asked in turn, or told apart by a channel in their lines. A
// Keyed gauge sends the same events from typed lines.
//
// # Adding a gauge with none in hand
//
// Capture its bytes, or write down a few frames from its manual, and make a
// profile of them; identify.Check shows what the profile makes of the bytes,
// and identify.Bytes proposes one. A new form of frame is at home in
// device/frame.
//
// # Time
//
// A reading is stamped on arrival, and its time handed to the decoder with the
// bytes. Where one Read brings several frames, as a bridge that collects bytes
// makes it, they are spread over the time since the Read before, so that the times
// of a stream only ever rise.
//
// # What differs between systems
//
// On Linux a port is listed from the kernel's own description, without opening
// it, and a gauge that comes back under another name is found by its USB
// identity. Windows lists through the registry, with USB identity. macOS does
// so too in a build with cgo; without cgo it gives names alone, and a gauge is
// found again by its name. On Windows the system itself keeps a second program
// off a port; elsewhere a lock on the device does, which binds programs that
// ask for it. A cable that types is kept from everybody else on Linux alone.
package device
