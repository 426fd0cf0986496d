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

// loadProfile reads a profile file and returns its text too. The errors in it,
// joined, each name the file, line and column and what is allowed there.
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
	if t := typeOf(de.Key()); t != nil && wantedKinds[t.Kind()] != "" && strings.HasPrefix(text, "cannot decode") {
		text = fmt.Sprintf("%s: want %s", strings.Join(de.Key(), "."), wantedKinds[t.Kind()])
	}
	return placedError{file, row, col, errors.New(text)}
}

// wantedKinds says in words what a key takes.
var wantedKinds = map[reflect.Kind]string{reflect.Int: "a whole number", reflect.Float64: "a number", reflect.String: "a text in quotes",
	reflect.Bool: "true or false", reflect.Struct: "a table", reflect.Map: "a table"}

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
	for f := range t.Fields() {
		if f.IsExported() { // those that are not come last
			name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
			keys = append(keys, name)
		}
	}
	return keys
}

// Check reports all that is impossible in a profile, joined.
func (p Profile) Check() error { return errors.Join(p.mistakes()...) }

// mistakes lists what is impossible in a profile, or well formed and copied from
// a manual in the wrong way: an escape in quotes that know none, and a register
// with the number of its table in front.
func (p Profile) mistakes() (list []error) {
	add := func(table string, errs ...error) {
		for _, err := range errs {
			if err != nil {
				list = append(list, inTable(table, err))
			}
		}
	}
	ask, question := "ask", p.Ask+p.AskHex
	if p.AskHex != "" {
		ask = "ask_hex"
	}
	asked, own := p.Mode == ModeAsked, p.Frame == FrameModbus || p.Frame == FrameSCPI
	measures := frame.Quantity(p.Unit)
	modbus := cmp.Or(p.Modbus, &frame.Modbus{})
	// Manuals number input registers from 30001 and holding registers from 40001.
	// Source: Modbus Application Protocol V1.1b3, 4.4 (data model).
	printed := map[int]int{3: 40001, 4: 30001}[modbus.Function]
	sent := modbus.Register - printed
	query := cmp.Or(p.SCPI, &frame.SCPI{}).Query
	add("",
		frame.Want(p.Name != "", "name", p.Name, "a short name"),
		frame.Want(p.Unit == "" || measures != "", "unit", p.Unit, frame.UnitList),
		frame.Want(p.Quantity == "" || measures == "" || measures == p.Quantity, "quantity", p.Quantity, measures+", which "+p.Unit+" measures"),
		frame.WantOneOf("quantity", p.Quantity, "length, torque, pressure, angle or temperature"),
		frame.Want(p.Resolution >= 0 && !math.IsInf(p.Resolution, 0), "resolution", p.Resolution, "a number of 0 or more"),
		frame.Want(p.Lag >= 0 && p.Lag <= mostLag, "lag_s", p.Lag, fmt.Sprintf("0 to %v seconds", mostLag)),
		frame.WantOneOf("mode", p.Mode, "streams or asked"),
		frame.Want(asked || question == "", ask, question, `mode = "asked" with it`),
		frame.Want(!own || question == "", ask, question, fmt.Sprintf("the question in the table [%s]", p.Frame)),
		frame.Want(asked || !own, "mode", p.Mode, fmt.Sprintf("asked: a %s gauge speaks only then", p.Frame)),
		frame.Want(p.Ask == "" || p.AskHex == "", "ask_hex", p.AskHex, "this or ask, not both"),
		frame.WantOneOf("sends", p.Sends, "on-press or on-change"),
		frame.Want(p.Sends == "" || !asked, "sends", p.Sends, `mode = "streams" with it`),
		frame.Want(!p.Timeout.short(), "timeout", time.Duration(p.Timeout), tooShort),
		frame.Want(!p.Interval.short(), "interval", time.Duration(p.Interval), tooShort),
		frame.Want(!escaped.MatchString(p.Ask), "ask", p.Ask, escapes),
		frame.Want(!escaped.MatchString(query), "scpi.query", query, escapes),
		frame.Want(printed == 0 || sent < 0 || sent > 9998, "modbus.register", modbus.Register, fmt.Sprintf("%d: %d is the number in a manual", sent, modbus.Register)),
	)
	if _, err := p.Question(); !own {
		add("", err)
	}
	_, err := p.Serial.mode()
	add("serial", err)
	if _, err := p.NewDecoder(); err != nil && strings.HasPrefix(err.Error(), "frame ") {
		add("", err)
	} else {
		add(p.Frame, err)
	}
	for i, there := range []bool{p.Text != nil, p.Packed != nil, p.Modbus != nil, p.SCPI != nil} {
		kind := []string{FrameText, FramePacked, FrameModbus, FrameSCPI}[i]
		add("", frame.Want(!there || kind == p.Frame, "frame", p.Frame, kind+", as the table ["+kind+"]"))
	}
	return list
}

// mostLag in seconds bounds how far a display may be behind: slow ones filter
// over a second or two.
const mostLag = 10.0

// escaped is an escape of a text in double quotes.
var escaped = regexp.MustCompile(`\\[rntbfeuUx0]`)

// Words for what is wanted.
const (
	escapes  = "double quotes around it: single ones know no escapes"
	tooShort = `1 ms or more, in quotes, like "500ms"`
)

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
	case p.Ask != "":
		return []byte(p.Ask), nil
	}
	b, err := frame.HexBytes(p.AskHex)
	switch {
	case err != nil:
		return nil, &frame.KeyError{Key: "ask_hex", Err: err}
	case len(b) == 0:
		return nil, &frame.KeyError{Key: "ask", Err: errors.New("missing, want what to send to the gauge")}
	}
	return b, nil
}

// WriteTOML writes the profile as a file that FindProfile reads back.
func (p Profile) WriteTOML(w io.Writer) error {
	return toml.NewEncoder(w).Encode(p)
}
