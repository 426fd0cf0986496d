package device

import (
	"cmp"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/pelletier/go-toml/v2"

	"crownlog/device/frame"
	"crownlog/device/strict"
)

//go:embed profiles/*.toml
var embedded embed.FS

// Profiles returns the profiles that come with the program, by name. They are
// read once, so their tables are shared and not to be changed.
var Profiles = sync.OnceValue(func() []Profile {
	var list []Profile
	files, _ := fs.Glob(embedded, "profiles/*.toml") // they are part of the program
	for _, name := range files {
		b, _ := embedded.ReadFile(name)
		p, err := strict.Decode(name, b, Profile.mistakes)
		if err != nil {
			panic(err)
		}
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b Profile) int { return cmp.Compare(a.Name, b.Name) })
	return list
})

// FindProfile returns the profile with the name and its file as it stands, comments
// and all: one that comes with the program, then NAME.toml in UserProfileDir, then a
// file of that path.
func FindProfile(nameOrPath string) (Profile, []byte, error) {
	for _, p := range Profiles() {
		if p.Name == nameOrPath {
			b, err := embedded.ReadFile("profiles/" + p.Name + ".toml")
			return p, b, err
		}
	}
	paths := []string{nameOrPath}
	if dir, err := UserProfileDir(); err == nil && nameOrPath == filepath.Base(nameOrPath) {
		paths = []string{filepath.Join(dir, nameOrPath+".toml"), nameOrPath}
	}
	for _, path := range paths {
		if p, b, err := loadProfile(path); !errors.Is(err, os.ErrNotExist) {
			return p, b, err
		}
	}
	return Profile{}, nil, fmt.Errorf("profile %q: %w: neither a built-in profile, one of your own, nor a file", nameOrPath, os.ErrNotExist)
}

// UserProfileDir returns where a user keeps own profiles:
// crownlog/profiles under the configuration folder of the system
// (XDG_CONFIG_HOME, or ~/.config, on Linux).
func UserProfileDir() (string, error) {
	dir, err := os.UserConfigDir()
	return filepath.Join(dir, "crownlog", "profiles"), err
}

// An OwnProfile is a file in UserProfileDir. FindProfile knows it by its name,
// unless a profile of that name comes with the program.
type OwnProfile struct {
	Name    string // of the file, without .toml
	File    string
	Profile Profile // zero where Err is not nil
	Err     error   // what is wrong with the file
	Hidden  bool    // by a profile that comes with the program
}

// OwnProfiles returns the profiles in UserProfileDir by name, also those that
// cannot be read. None is no error.
func OwnProfiles() []OwnProfile {
	dir, err := UserProfileDir()
	if err != nil {
		return nil
	}
	files, _ := fs.Glob(os.DirFS(dir), "*.toml") // by name; a folder that is not there has none
	var list []OwnProfile
	for _, file := range files {
		own := OwnProfile{Name: strings.TrimSuffix(file, ".toml"), File: filepath.Join(dir, file)}
		own.Profile, _, own.Err = loadProfile(own.File)
		if own.Hidden = slices.ContainsFunc(Profiles(), func(p Profile) bool { return p.Name == own.Name }); own.Hidden {
			own.Profile, own.Err = Profile{}, fmt.Errorf("%s is not used: profile %q comes with the program; give your file another name", own.File, own.Name)
		}
		list = append(list, own)
	}
	return list
}

// loadProfile reads a profile file and returns its text too. The errors in it,
// joined, each name the file, line and column and what is allowed there.
func loadProfile(path string) (Profile, []byte, error) {
	b, err := strict.ReadFile(path)
	if err != nil {
		return Profile{}, nil, fmt.Errorf("profile %w", err)
	}
	p, err := strict.Decode(path, b, Profile.mistakes)
	return p, b, err
}

// Check reports all that is impossible in a profile, joined.
func (p Profile) Check() (err error) {
	for _, m := range p.mistakes() {
		err = errors.Join(err, m)
	}
	return err
}

// mistakes lists what is impossible in a profile, or well formed and copied from
// a manual in the wrong way: an escape in quotes that know none, and a register
// with the number of its table in front.
func (p Profile) mistakes() (list []*strict.Error) {
	add := func(table string, errs ...error) {
		for _, err := range errs {
			if err == nil {
				continue
			}
			key, text, _ := strings.Cut(err.Error(), " ") // a message begins with the key
			if ke, ok := errors.AsType[*frame.KeyError](err); ok {
				key, text = ke.Key, ke.Err.Error()
			}
			list = append(list, &strict.Error{Key: strings.TrimPrefix(table+"."+key, "."), Text: text})
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
		frame.Want(p.Serial.Flow != FlowSoftware || p.Frame == FrameText || p.Frame == FrameSCPI, "serial.flow", p.Serial.Flow,
			"another: it takes the bytes 11 and 13 out of a binary frame"),
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
	b, err := frame.HexBytes(p.AskHex)
	switch {
	case p.Mode != ModeAsked:
		return nil, nil
	case p.Frame == FrameModbus && p.Modbus != nil:
		return p.Modbus.Request(), nil
	case p.Frame == FrameSCPI && p.SCPI != nil:
		return []byte(p.SCPI.Query + "\n"), nil
	case p.Ask != "":
		return []byte(p.Ask), nil
	case err != nil:
		return nil, &frame.KeyError{Key: "ask_hex", Err: err}
	case len(b) == 0:
		return nil, &frame.KeyError{Key: "ask", Err: errors.New("missing, want what to send to the gauge")}
	}
	return b, nil
}

// WriteTOML writes the profile as a file that FindProfile reads back.
func (p Profile) WriteTOML(w io.Writer) error { return toml.NewEncoder(w).Encode(p) }
