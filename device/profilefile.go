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
	"slices"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"crownlog/device/frame"
)

//go:embed profiles/*.toml
var embedded embed.FS

// Profiles returns the profiles that come with the program, by name.
func Profiles() []Profile {
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
}

// FindProfile returns the profile with the name: one that comes with the
// program, then NAME.toml in UserProfileDir, then a file of that path.
func FindProfile(nameOrPath string) (Profile, error) {
	for _, p := range Profiles() {
		if p.Name == nameOrPath {
			return p, nil
		}
	}
	if dir, err := UserProfileDir(); err == nil && nameOrPath == filepath.Base(nameOrPath) {
		if p, err := LoadProfile(filepath.Join(dir, nameOrPath+".toml")); !errors.Is(err, os.ErrNotExist) {
			return p, err
		}
	}
	p, err := LoadProfile(nameOrPath)
	if errors.Is(err, os.ErrNotExist) {
		return Profile{}, fmt.Errorf("profile %q: %w: neither a built-in profile, one of your own, nor a file", nameOrPath, os.ErrNotExist)
	}
	return p, err
}

// mostProfile bounds a profile file in bytes: the longest of ours has one
// thousand, so whatever is beyond a million was named by mistake.
const mostProfile = 1 << 20

// LoadProfile reads a profile file. An error in it names the file, line and
// column and what is allowed there.
func LoadProfile(path string) (Profile, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return Profile{}, err
	case !info.Mode().IsRegular():
		return Profile{}, fmt.Errorf("profile %q: not a plain file", path)
	case info.Size() > mostProfile:
		return Profile{}, fmt.Errorf("profile %q: %d bytes is no gauge profile", path, info.Size())
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return Profile{}, err
	}
	return parseProfile(path, b)
}

// parseProfile reads a profile from TOML text; file is named in errors.
func parseProfile(file string, b []byte) (Profile, error) {
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	var p Profile
	dec := toml.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&p); err != nil {
		return Profile{}, profileError(file, err)
	}
	if err := p.Check(); err != nil {
		line, column := position(b, err)
		return Profile{}, fmt.Errorf("%s:%d:%d: %w", file, line, column, err)
	}
	return p, nil
}

// profileError adds the place and what is allowed there to an error of the
// parser, so that it is one line a person can act on.
func profileError(file string, err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		e := strict.Errors[0]
		row, col := e.Position()
		key := e.Key()
		return fmt.Errorf("%s:%d:%d: unknown key %q, allowed: %s", file, row, col,
			strings.Join(key, "."), strings.Join(keysOf(typeOf(key[:len(key)-1])), ", "))
	}
	var de *toml.DecodeError
	if errors.As(err, &de) {
		row, col := de.Position()
		text := strings.TrimPrefix(de.Error(), "toml: ")
		if want := wantedType(de.Key()); want != "" && strings.HasPrefix(text, "cannot decode") {
			text = fmt.Sprintf("%s: want %s", strings.Join(de.Key(), "."), want)
		}
		return fmt.Errorf("%s:%d:%d: %s", file, row, col, text)
	}
	return fmt.Errorf("%s:1:1: %w", file, err)
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

// Check reports what is impossible in a profile.
func (p Profile) Check() error {
	fail := func(key, format string, args ...any) error {
		return &frame.KeyError{Key: key, Err: fmt.Errorf(format, args...)}
	}
	if p.Name == "" {
		return fail("name", "missing, want a short name")
	}
	if p.Unit != "" && frame.Quantity(p.Unit) == "" {
		return fail("unit", "%q is not known, want "+frame.UnitList, p.Unit)
	}
	if p.Unit != "" && p.Quantity != "" && frame.Quantity(p.Unit) != p.Quantity {
		return fail("quantity", "%q is not what %s measures, want %s", p.Quantity, p.Unit, frame.Quantity(p.Unit))
	}
	if !slices.Contains([]string{"", "length", "torque", "pressure", "angle", "temperature"}, p.Quantity) {
		return fail("quantity", "%q is not known, want length, torque, pressure, angle or temperature", p.Quantity)
	}
	if !(p.Resolution >= 0) || math.IsInf(p.Resolution, 0) {
		return fail("resolution", "%v is no step of a display, want a number of 0 or more", p.Resolution)
	}
	if err := p.checkMode(fail); err != nil {
		return err
	}
	if _, err := p.Serial.mode(); err != nil {
		return inTable("serial", err)
	}
	for kind, there := range map[string]bool{FrameText: p.Text != nil, FramePacked: p.Packed != nil, FrameModbus: p.Modbus != nil, FrameSCPI: p.SCPI != nil} {
		if there && kind != p.Frame {
			return fail("frame", "%q does not go with a table [%s]", p.Frame, kind)
		}
	}
	if _, err := p.NewDecoder(); err != nil {
		if strings.HasPrefix(err.Error(), "frame ") {
			return &frame.KeyError{Key: "frame", Err: err}
		}
		return inTable(p.Frame, err)
	}
	return nil
}

func (p Profile) checkMode(fail func(string, string, ...any) error) error {
	ask, asks := "ask", p.Ask != "" || p.AskHex != ""
	if p.AskHex != "" {
		ask = "ask_hex"
	}
	own := p.Frame == FrameModbus || p.Frame == FrameSCPI
	switch {
	case p.Mode != "" && p.Mode != ModeStreams && p.Mode != ModeAsked:
		return fail("mode", "%q is not known, want streams or asked", p.Mode)
	case asks && p.Mode != ModeAsked:
		return fail(ask, `a gauge that streams is not asked, want mode = "asked"`)
	case asks && own:
		return fail(ask, "a %s gauge has its question in the table [%s]", p.Frame, p.Frame)
	case own && p.Mode != ModeAsked:
		return fail("mode", `a %s gauge speaks only when asked, want mode = "asked"`, p.Frame)
	case p.Ask != "" && p.AskHex != "":
		return fail("ask_hex", "with ask together, want one of them")
	case p.Sends != "" && p.Sends != SendsOnPress:
		return fail("sends", "%q is not known, want on-press, or no such key for a gauge that sends all the time", p.Sends)
	case p.Sends == SendsOnPress && p.Mode == ModeAsked:
		return fail("sends", `a gauge that sends on-press is not asked, want mode = "streams"`)
	}
	for _, d := range []struct {
		key  string
		time Duration
	}{{"timeout", p.Timeout}, {"interval", p.Interval}} {
		if d.time != 0 && time.Duration(d.time) < time.Millisecond {
			return fail(d.key, "%v is shorter than 1 ms, want a time in quotes, like \"500ms\"", time.Duration(d.time))
		}
	}
	_, err := p.Question()
	return err
}

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
