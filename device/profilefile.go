package device

import (
	"bytes"
	"cmp"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/pelletier/go-toml/v2"

	"crownlog/device/frame"
)

//go:embed profiles/*.toml
var embedded embed.FS

// Profiles returns the profiles that come with the program, by name. They are
// read once, so their tables are shared and not to be changed.
var Profiles = sync.OnceValue(func() []Profile {
	var list []Profile
	files, err := fs.Glob(embedded, "profiles/*.toml")
	for _, name := range files {
		b, readErr := embedded.ReadFile(name)
		p, parseErr := parseProfile(name, b)
		err = errors.Join(err, readErr, parseErr)
		list = append(list, p)
	}
	if err != nil {
		panic(err) // they are part of the program
	}
	slices.SortFunc(list, func(a, b Profile) int { return cmp.Compare(a.Name, b.Name) })
	return list
})

// FindProfile returns the profile with the name: one that comes with the
// program, then NAME.toml in UserProfileDir, then a file of that path.
func FindProfile(nameOrPath string) (Profile, error) {
	p, _, err := FindProfileText(nameOrPath)
	return p, err
}

// FindProfileText returns the profile that FindProfile does and its file as it
// stands, comments and all.
func FindProfileText(nameOrPath string) (Profile, []byte, error) {
	for _, p := range Profiles() {
		if p.Name == nameOrPath {
			b, err := embedded.ReadFile("profiles/" + p.Name + ".toml")
			return p, b, err
		}
	}
	if dir, err := UserProfileDir(); err == nil && nameOrPath == filepath.Base(nameOrPath) {
		if p, b, err := loadProfile(filepath.Join(dir, nameOrPath+".toml")); !errors.Is(err, os.ErrNotExist) {
			return p, b, err
		}
	}
	p, b, err := loadProfile(nameOrPath)
	if errors.Is(err, os.ErrNotExist) {
		return Profile{}, nil, fmt.Errorf("profile %q: %w: neither a built-in profile, one of your own, nor a file", nameOrPath, os.ErrNotExist)
	}
	return p, b, err
}

// mostProfile bounds a profile file in bytes: the longest of ours has one
// thousand, so whatever is beyond a million was named by mistake.
const mostProfile = 1 << 20

// LoadProfile reads a profile file. The errors in it, joined, each name the
// file, line and column and what is allowed there.
func LoadProfile(path string) (Profile, error) {
	p, _, err := loadProfile(path)
	return p, err
}

func loadProfile(path string) (Profile, []byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return Profile{}, nil, err
	case !info.Mode().IsRegular():
		return Profile{}, nil, fmt.Errorf("profile %q: not a plain file", path)
	case info.Size() > mostProfile:
		return Profile{}, nil, fmt.Errorf("profile %q: %d bytes is no gauge profile", path, info.Size())
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return Profile{}, nil, err
	}
	p, err := parseProfile(path, b)
	return p, b, err
}

// parseProfile reads a profile from TOML text; file is named in errors.
func parseProfile(file string, b []byte) (Profile, error) {
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	var p Profile
	var wrong []placedError
	dec := toml.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	err := dec.Decode(&p)
	strict, unknown := errors.AsType[*toml.StrictMissingError](err)
	if err != nil && !unknown {
		return Profile{}, tomlError(file, err) // the rest was not read
	}
	if unknown {
		for _, e := range strict.Errors {
			row, col := e.Position()
			key := e.Key()
			wrong = append(wrong, placedError{file, row, col, fmt.Errorf("unknown key %q, allowed: %s",
				strings.Join(key, "."), strings.Join(keysOf(typeOf(key[:len(key)-1])), ", "))})
		}
	}
	for _, err := range p.mistakes() {
		line, column := position(b, err)
		wrong = append(wrong, placedError{file, line, column, err})
	}
	if len(wrong) == 0 {
		return p, nil
	}
	slices.SortStableFunc(wrong, func(a, b placedError) int {
		return cmp.Or(cmp.Compare(a.line, b.line), cmp.Compare(a.column, b.column))
	})
	var all []error
	for _, w := range wrong {
		all = append(all, w)
	}
	return Profile{}, errors.Join(all...)
}

// A placedError is a mistake in a profile file and where it stands.
type placedError struct {
	file         string
	line, column int
	err          error
}

func (e placedError) Error() string {
	return fmt.Sprintf("%s:%d:%d: %v", e.file, e.line, e.column, e.err)
}

// tomlError adds the place and what is allowed there to an error of the parser, so
// that it is one line a person can act on.
func tomlError(file string, err error) error {
	de, ok := errors.AsType[*toml.DecodeError](err)
	if !ok {
		return placedError{file, 1, 1, err}
	}
	row, col := de.Position()
	text := strings.TrimPrefix(de.Error(), "toml: ")
	if want := wantedType(de.Key()); want != "" && strings.HasPrefix(text, "cannot decode") {
		text = fmt.Sprintf("%s: want %s", strings.Join(de.Key(), "."), want)
	}
	return placedError{file, row, col, errors.New(text)}
}

// wantedType says in words what a key takes, "" where nothing can be said.
func wantedType(key []string) string {
	t := typeOf(key)
	if t == nil {
		return ""
	}
	return map[reflect.Kind]string{reflect.Int: "a whole number", reflect.Float64: "a number", reflect.String: "a text in quotes",
		reflect.Bool: "true or false", reflect.Struct: "a table", reflect.Map: "a table"}[t.Kind()]
}

// typeOf returns the type behind a key of a profile, nil for an unknown one.
func typeOf(key []string) reflect.Type {
	t := reflect.TypeFor[Profile]()
	for _, k := range key {
		i := slices.Index(keysOf(t), k)
		if i < 0 {
			return nil
		}
		if t = t.Field(i).Type; t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
	}
	return t
}

// keysOf returns the keys of a table in the order of its fields, none for
// another type.
func keysOf(t reflect.Type) []string {
	if t == nil || t.Kind() != reflect.Struct {
		return nil
	}
	var keys []string
	for i := range t.NumField() {
		if f := t.Field(i); f.IsExported() { // those that are not come last
			name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
			keys = append(keys, name)
		}
	}
	return keys
}

// Check reports all that is impossible in a profile, joined.
func (p Profile) Check() error { return errors.Join(p.mistakes()...) }

// mistakes lists what is impossible in a profile.
func (p Profile) mistakes() []error {
	var list []error
	fail := func(key, format string, args ...any) {
		list = append(list, &frame.KeyError{Key: key, Err: fmt.Errorf(format, args...)})
	}
	if p.Name == "" {
		fail("name", "missing, want a short name")
	}
	switch {
	case p.Unit != "" && frame.Quantity(p.Unit) == "":
		fail("unit", "%q is not known, want "+frame.UnitList, p.Unit)
	case p.Unit != "" && p.Quantity != "" && frame.Quantity(p.Unit) != p.Quantity:
		fail("quantity", "%q is not what %s measures, want %s", p.Quantity, p.Unit, frame.Quantity(p.Unit))
	case !slices.Contains([]string{"", "length", "torque", "pressure", "angle", "temperature"}, p.Quantity):
		fail("quantity", "%q is not known, want length, torque, pressure, angle or temperature", p.Quantity)
	}
	if !(p.Resolution >= 0) || math.IsInf(p.Resolution, 0) {
		fail("resolution", "%v is no step of a display, want a number of 0 or more", p.Resolution)
	}
	if !(p.Lag >= 0) || p.Lag > mostLag {
		fail("lag_s", "%v, want 0 to %v seconds", p.Lag, mostLag)
	}
	p.checkMode(fail)
	p.checkManual(fail)
	if _, err := p.Serial.mode(); err != nil {
		list = append(list, inTable("serial", err))
	}
	for kind, there := range map[string]bool{FrameText: p.Text != nil, FramePacked: p.Packed != nil, FrameModbus: p.Modbus != nil, FrameSCPI: p.SCPI != nil} {
		if there && kind != p.Frame {
			fail("frame", "%q does not go with a table [%s]", p.Frame, kind)
			return list
		}
	}
	if _, err := p.NewDecoder(); err != nil {
		if strings.HasPrefix(err.Error(), "frame ") {
			return append(list, &frame.KeyError{Key: "frame", Err: err})
		}
		list = append(list, inTable(p.Frame, err))
	}
	return list
}

// mostLag in seconds bounds how far a display may be behind: slow ones filter
// over a second or two.
const mostLag = 10.0

func (p Profile) checkMode(fail func(string, string, ...any)) {
	ask, asks := "ask", p.Ask != "" || p.AskHex != ""
	if p.AskHex != "" {
		ask = "ask_hex"
	}
	own := p.Frame == FrameModbus || p.Frame == FrameSCPI
	switch {
	case p.Mode != "" && p.Mode != ModeStreams && p.Mode != ModeAsked:
		fail("mode", "%q is not known, want streams or asked", p.Mode)
	case asks && p.Mode != ModeAsked:
		fail(ask, `a gauge that streams is not asked, want mode = "asked"`)
	case asks && own:
		fail(ask, "a %s gauge has its question in the table [%s]", p.Frame, p.Frame)
	case own && p.Mode != ModeAsked:
		fail("mode", `a %s gauge speaks only when asked, want mode = "asked"`, p.Frame)
	case p.Ask != "" && p.AskHex != "":
		fail("ask_hex", "with ask together, want one of them")
	default:
		if _, err := p.Question(); err != nil && (p.Frame == FrameText || p.Frame == FramePacked || p.AskHex != "") {
			var ke *frame.KeyError
			errors.As(err, &ke)
			fail(ke.Key, "%w", ke.Err)
		}
	}
	switch {
	case p.Sends != "" && p.Sends != SendsOnPress && p.Sends != SendsOnChange:
		fail("sends", "%q is not known, want on-press or on-change, or no such key for a gauge that sends all the time", p.Sends)
	case p.Sends != "" && p.Mode == ModeAsked:
		fail("sends", `a gauge that sends %s is not asked, want mode = "streams"`, p.Sends)
	}
	for _, d := range []struct {
		key  string
		time Duration
	}{{"timeout", p.Timeout}, {"interval", p.Interval}} {
		if d.time != 0 && time.Duration(d.time) < time.Millisecond {
			fail(d.key, "%v is shorter than 1 ms, want a time in quotes, like \"500ms\"", time.Duration(d.time))
		}
	}
}

// checkManual finds what is well formed and was copied from a manual in the wrong
// way: an escape in quotes that know none, and a register with the number of
// its table in front.
func (p Profile) checkManual(fail func(string, string, ...any)) {
	for key, text := range map[string]string{"ask": p.Ask, "scpi.query": cmp.Or(p.SCPI, &frame.SCPI{}).Query} {
		if escape := escaped.FindString(text); escape != "" {
			fail(key, `%q holds a backslash: in single quotes %s is two characters, want double quotes`, text, escape)
		}
	}
	if m := p.Modbus; m != nil {
		// Manuals number input registers from 30001 and holding registers from 40001.
		// Source: Modbus Application Protocol V1.1b3, 4.4 (data model).
		table := map[int]int{3: 40001, 4: 30001}[m.Function]
		if table > 0 && m.Register >= table && m.Register < table+9999 {
			fail("modbus.register", "%d is the number in a manual, of which %d is sent: want register = %d", m.Register, m.Register-table, m.Register-table)
		}
	}
}

// escaped is an escape of a text in double quotes.
var escaped = regexp.MustCompile(`\\[rntbfeuUx0]`)

// Question returns the bytes that ask the gauge for a reading, nil for one
// that streams.
func (p Profile) Question() ([]byte, error) {
	if p.Mode != ModeAsked {
		return nil, nil
	}
	switch {
	case p.Frame == FrameModbus && p.Modbus != nil:
		return p.Modbus.Request(), nil
	case p.Frame == FrameSCPI && p.SCPI != nil:
		return []byte(p.SCPI.Query + "\n"), nil
	case p.AskHex != "":
		b, err := frame.HexBytes(p.AskHex)
		if err != nil {
			return nil, &frame.KeyError{Key: "ask_hex", Err: err}
		}
		return b, nil
	case p.Ask != "":
		return []byte(p.Ask), nil
	}
	return nil, &frame.KeyError{Key: "ask", Err: errors.New("missing, want what to send to the gauge")}
}

// WriteTOML writes the profile as a file that LoadProfile reads back.
func (p Profile) WriteTOML(w io.Writer) error {
	return toml.NewEncoder(w).Encode(p)
}
