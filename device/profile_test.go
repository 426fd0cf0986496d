package device

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
	"crownlog/device/strict"
)

func TestProfilesThatComeWithTheProgram(t *testing.T) {
	var names []string
	for _, p := range Profiles() {
		names = append(names, p.Name)
		assert.NotEmpty(t, p.Title, p.Name)
		var out bytes.Buffer
		require.NoError(t, p.WriteTOML(&out))
		again, err := strict.Decode(p.Name, out.Bytes(), Profile.mistakes)
		require.NoError(t, err, "%s written:\n%s", p.Name, out.String())
		assert.Equal(t, p, again, "%s is the same after writing and reading", p.Name)
	}
	assert.Equal(t, []string{"modbus-float", "packed-bcd", "packed-int", "pressure-text", "scpi", "text", "text-inch", "text-press", "torque-press", "torque-text"}, names)
}

func TestProfileErrorsNameTheirPlace(t *testing.T) {
	const head = "name = \"x\"\nframe = \"text\"\n"
	const packedHead = "name = \"x\"\nframe = \"packed\"\n[packed]\nlength = 6\nheader = \"AA\"\nat = 2\nsize = 3\ntype = \"bcd\"\n"
	tests := []struct{ name, in, want string }{
		{"unknown key", head + "colour = 1\n", `p.toml:3:1: colour: unknown key. Allowed here: name, title, quantity, unit, resolution, mode, lag_s, sends, ask, ask_hex, timeout, interval, frame, serial, text, packed, modbus, scpi`},
		{"unknown key in a table", head + "[serial]\nspeed = 9600\n", `p.toml:4:1: serial.speed: unknown key. Allowed here: baud, data_bits, parity, stop_bits, dtr, rts, flow`},
		{"unknown key of the frame", "name = \"x\"\nmode = \"asked\"\nframe = \"scpi\"\n[scpi]\nask = \"R\"\n", "p.toml:4:2: scpi.query: missing, want what to send, like READ?\np.toml:5:1: scpi.ask: unknown key. Allowed here: query"},
		{"wrong type", head + "[serial]\nbaud = \"fast\"\n", `p.toml:4:8: serial.baud: "fast" does not fit; want a whole number`},
		{"wrong type of a text", "name = 5\n", `p.toml:1:8: name: 5 does not fit; want text in quotes`},
		{"wrong type of a time", head + "timeout = 500\n", `p.toml:3:1: timeout: 500ns: want 1 ms or more, in quotes, like "500ms"`},
		{"not a table", head + "serial = 9600\n", `p.toml:3:10: serial: 9600 does not fit; want a table`},
		{"not TOML", "name = \n", `p.toml:1:8: unexpected character U+000A at start of value; want text in quotes`},
		{"bad duration", head + "mode = \"asked\"\nask = \"R\"\ntimeout = \"soon\"\n", `p.toml:5:11: timeout: duration "soon": want 0 or more with ms, s or m, like 500ms`},
		{"bad duration below nothing", head + "mode = \"asked\"\nask = \"R\"\ntimeout = \"-1s\"\n", `p.toml:5:11: timeout: duration "-1s": want 0 or more with ms, s or m, like 500ms`},
		{"array of tables", head + "[[text]]\nline_end = \"lf\"\n", `p.toml:3:3: text: text does not fit; want a table`},
		{"modbus table missing", "name = \"x\"\nmode = \"asked\"\nframe = \"modbus\"\nask=\"R\"\n", "p.toml:3:1: frame: \"modbus\": want text, or packed, modbus or scpi with a table of that name\np.toml:4:1: ask: \"R\": want the question in the table [modbus]"},
		{"no name", "frame = \"text\"\n", `p.toml: name: "": want a short name`},
		{"no frame", "name = \"x\"\n", `p.toml: frame: "": want text, or packed, modbus or scpi with a table of that name`},
		{"unknown frame", "name = \"x\"\nframe = \"morse\"\n", `p.toml:2:1: frame: "morse": want text, or packed, modbus or scpi with a table of that name`},
		{"table missing", "name = \"x\"\nframe = \"packed\"\n", `p.toml:2:1: frame: "packed": want text, or packed, modbus or scpi with a table of that name`},
		{"table of another frame", head + "[scpi]\nquery = \"R\"\n", `p.toml:2:1: frame: "text": want scpi, as the table [scpi]`},
		{"unknown unit", head + "unit = \"furlong\"\n", `p.toml:3:1: unit: "furlong": want ` + frame.UnitList},
		{"unit of another quantity", head + "unit = \"bar\"\nquantity = \"length\"\n", `p.toml:4:1: quantity: "length": want pressure, which bar measures`},
		{"unknown mode", head + "mode = \"pushes\"\n", `p.toml:3:1: mode: "pushes": want streams or asked`},
		{"asked without a question", head + "mode = \"asked\"\n", `p.toml: ask: missing, want what to send to the gauge`},
		{"question that is not asked", head + "ask = \"R\"\n", `p.toml:3:1: ask: "R": want mode = "asked" with it`},
		{"scpi that streams", "name = \"x\"\nframe = \"scpi\"\n[scpi]\nquery = \"R\"\n", `p.toml: mode: "": want asked: a scpi gauge speaks only then`},
		{"negative baud", head + "[serial]\nbaud = -5\n", `p.toml:4:1: serial.baud: -5: want more than 0`},
		{"table with a comment behind it", head + "[text] # lines\nline_end = \"nul\"\n", `p.toml:4:1: text.line_end: "nul": want any, cr, lf, crlf, idle, or bytes that are no letters or digits`},
		{"inline table", head + "text = { decimal = \"point\", line_end = \"nul\" }\n", `p.toml:3:29: text.line_end: "nul": want any, cr, lf, crlf, idle, or bytes that are no letters or digits`},
		{"dotted key", head + "text.line_end = \"nul\"\n", `p.toml:3:1: text.line_end: "nul": want any, cr, lf, crlf, idle, or bytes that are no letters or digits`},
		{"table in a table", head + "[text.words]\nfine = \"mm\"\nM = \"metre\"\n", `p.toml:5:1: text.words.M: "metre" means nothing known, want a unit (` + frame.UnitList + `), hold, low-battery, over or ignore, or of a sign plus or minus`},
		{"quoted key", head + "[text]\nwords = { \"a b\" = \"metre\" }\n", `p.toml:4:11: text.words.a b: "metre" means nothing known, want a unit (` + frame.UnitList + `), hold, low-battery, over or ignore, or of a sign plus or minus`},
		{"key missing in a table", "name = \"x\"\nframe = \"scpi\"\nmode = \"asked\"\n[scpi]\n", `p.toml:4:2: scpi.query: missing, want what to send, like READ?`},
		{"bits of a frame", packedHead + "[packed.sign]\nmask = \"01\"\nat = 9\n", `p.toml:11:1: packed.sign.at: 9: want 0 to 5`},
		{"mask of a frame", packedHead + "[packed.hold]\nat = 1\nmask = \"xx\"\n", `p.toml:11:1: packed.hold.mask: "xx": want hex 01 to FF`},
		{"units of a frame", packedHead + "[packed.unit_bits]\nat = 1\n[packed.units]\n\"00\" = \"ell\"\n", `p.toml:12:1: packed.units.00: "ell": want a hex byte and a unit: ` + frame.UnitList},
		{"start of no checksum", packedHead + "checksum_from = 1\n", `p.toml:9:1: packed.checksum_from: 1: want a checksum too`},
		{"hex question", head + "ask_hex = \"41\"\n", `p.toml:3:1: ask_hex: "41": want mode = "asked" with it`},
		{"question beside the frame's own", "name = \"x\"\nframe = \"scpi\"\nmode = \"asked\"\nask = \"R\"\n[scpi]\nquery = \"R?\"\n", `p.toml:4:1: ask: "R": want the question in the table [scpi]`},
		{"resolution of no number", head + "resolution = nan\n", `p.toml:3:1: resolution: NaN: want a number of 0 or more`},
		{"endless resolution", head + "resolution = inf\n", `p.toml:3:1: resolution: +Inf: want a number of 0 or more`},
		{"unknown way of sending", head + "sends = \"at-noon\"\n", `p.toml:3:1: sends: "at-noon": want on-press or on-change`},
		{"press of a gauge that is asked", head + "mode = \"asked\"\nask = \"R\"\nsends = \"on-press\"\n", `p.toml:5:1: sends: "on-press": want mode = "streams" with it`},
		{"escape in quotes that know none", head + "mode = \"asked\"\nask = 'R\\r'\n", `p.toml:4:1: ask: "R\\r": want double quotes around it: single ones know no escapes`},
		{"escape in a query", "name = \"x\"\nframe = \"scpi\"\nmode = \"asked\"\n[scpi]\nquery = 'READ?\\n'\n", `p.toml:5:1: scpi.query: "READ?\\n": want double quotes around it: single ones know no escapes`},
		{"register of a manual", "name = \"x\"\nframe = \"modbus\"\nmode = \"asked\"\n[modbus]\naddress = 1\nfunction = 3\nregister = 40003\ntype = \"int16\"\n", `p.toml:7:1: modbus.register: 40003: want 2: 40003 is the number in a manual`},
		{"flow control that eats bytes", "name = \"x\"\nframe = \"modbus\"\nmode = \"asked\"\n[serial]\nflow = \"xon-xoff\"\n[modbus]\naddress = 1\nfunction = 3\nregister = 3\ntype = \"int16\"\n", `p.toml:5:1: serial.flow: "xon-xoff": want another: it takes the bytes 11 and 13 out of a binary frame`},
		{"lag beyond reason", head + "lag_s = 60\n", `p.toml:3:1: lag_s: 60: want 0 to 10 seconds`},
		{"all at once", "name = \"x\"\nframe = \"text\"\nunit = \"furlong\"\ncolour = 1\n[serial]\nbaud = -5\n[text]\nline_end = \"nul\"\n",
			"p.toml:3:1: unit: \"furlong\": want " + frame.UnitList + "\np.toml:4:1: colour: unknown key. Allowed here: name, title, quantity, unit, resolution, mode, lag_s, sends, ask, ask_hex, timeout, interval, frame, serial, text, packed, modbus, scpi\np.toml:6:1: serial.baud: -5: want more than 0\np.toml:8:1: text.line_end: \"nul\": want any, cr, lf, crlf, idle, or bytes that are no letters or digits"},
		{"bad value in the frame table", head + "[text]\n  line_end = \"nul\"\n", `p.toml:4:3: text.line_end: "nul": want any, cr, lf, crlf, idle, or bytes that are no letters or digits`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, err := strict.Decode("p.toml", []byte(tt.in), Profile.mistakes)
			require.Error(t, err)
			assert.Equal(t, tt.want, err.Error())
			assert.Equal(t, Profile{}, p)
		})
	}
}

// A profile is copied for its comments too.
func TestAProfileAsItStands(t *testing.T) {
	p, text, err := FindProfile("packed-bcd")
	require.NoError(t, err)
	assert.Equal(t, "packed-bcd", p.Name)
	assert.Contains(t, string(text), "#   AA   state  BCD, 3 bytes")
	path := filepath.Join(t.TempDir(), "p.toml")
	own := []byte("# mine\nname = \"x\"\nframe = \"text\"\n")
	require.NoError(t, os.WriteFile(path, own, 0o644))
	_, text, err = FindProfile(path)
	require.NoError(t, err)
	assert.Equal(t, own, text)
}

func TestTimesOfAProfile(t *testing.T) {
	p, err := strict.Decode("p.toml", []byte("name = \"x\"\nframe = \"text\"\nmode = \"asked\"\nask = \"R\"\ntimeout = \"1ms\"\ninterval = \"0s\"\n"), Profile.mistakes)
	require.NoError(t, err)
	assert.Equal(t, Duration(time.Millisecond), p.Timeout)
	assert.Equal(t, time.Millisecond, p.Timeout.or(time.Second))
	assert.Equal(t, time.Second, p.Interval.or(time.Second))
}

func TestADecoderNeedsItsTable(t *testing.T) {
	for _, kind := range []string{FramePacked, FrameModbus, FrameSCPI} {
		_, err := Profile{Name: "x", Frame: kind}.NewDecoder()
		assert.EqualError(t, err, "frame \""+kind+"\": want text, or packed, modbus or scpi with a table of that name")
		_, err = Profile{Name: "x", Frame: kind, Mode: ModeAsked}.Question()
		assert.EqualError(t, err, "ask: missing, want what to send to the gauge")
	}
}

func TestAFileThatIsNoProfile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "p.toml")
	text := append([]byte("name = \"x\"\nframe = \"text\"\n#"), bytes.Repeat([]byte("x"), 1<<17)...)
	require.NoError(t, os.WriteFile(path, text[:1<<17], 0o644))
	_, _, err := FindProfile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, text[:1<<17+1], 0o644))
	_, _, err = FindProfile(path)
	assert.ErrorContains(t, err, "131073 bytes are too many")
	_, _, err = FindProfile(filepath.Dir(path))
	assert.ErrorContains(t, err, "a directory")
}

func TestNoFolderForOwnProfiles(t *testing.T) {
	for _, key := range []string{"XDG_CONFIG_HOME", "HOME", "AppData"} {
		t.Setenv(key, "")
	}
	_, err := UserProfileDir()
	require.Error(t, err)
	assert.Empty(t, OwnProfiles())
	_, _, err = FindProfile("none-such")
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestFindProfile(t *testing.T) {
	config := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", config)
	t.Setenv("HOME", config)
	t.Setenv("AppData", config)
	dir, err := UserProfileDir()
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(dir, 0o755))
	own := filepath.Join(dir, "mine.toml")
	require.NoError(t, os.WriteFile(own, []byte("\xef\xbb\xbfname = \"mine\"\nframe = \"text\"\n"), 0o644))

	p, _, err := FindProfile("mine")
	require.NoError(t, err)
	assert.Equal(t, "mine", p.Name)
	p, _, err = FindProfile(own)
	require.NoError(t, err)
	assert.Equal(t, "mine", p.Name)
	p, _, err = FindProfile("text")
	require.NoError(t, err)
	assert.Equal(t, "mm", p.Unit)
	assert.Len(t, OwnProfiles(), 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "text.toml"), []byte("name = \"text\"\nframe = \"text\"\nunit = \"in\"\n"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "broken.toml"), []byte("name = \"broken\"\n"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes.txt"), nil, 0o644))
	list := OwnProfiles()
	require.Len(t, list, 3)
	assert.Equal(t, OwnProfile{Name: "mine", File: own, Profile: Profile{Name: "mine", Frame: FrameText}}, list[1])
	assert.ErrorContains(t, list[0].Err, "broken.toml: frame")
	assert.True(t, list[2].Hidden, "text comes with the program")
	p, _, err = FindProfile("text")
	require.NoError(t, err)
	assert.Equal(t, "mm", p.Unit)

	_, _, err = FindProfile("none-such")
	assert.ErrorIs(t, err, os.ErrNotExist)
	assert.Contains(t, err.Error(), `profile "none-such"`)
}
