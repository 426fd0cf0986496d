package words

import (
	"cmp"
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"github.com/pelletier/go-toml/v2"

	"crownlog/analysis"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
)

//go:embed english.toml
var english []byte

// sentences are those of each code, read when the first is said: another language is
// another file.
var sentences = sync.OnceValue(func() (l struct {
	Notes    map[analysis.NoteCode]string `toml:"notes"`
	Contacts map[setup.Seen]string        `toml:"contacts"`
	Doubts   map[string]string            `toml:"doubts"`
	Faults   map[analysis.Fault]string    `toml:"faults"`
	Works    map[string]string            `toml:"works"`
	Whys     map[string]string            `toml:"whys"`
}) {
	if err := toml.Unmarshal(english, &l); err != nil {
		panic(err) // it comes with the program
	}
	return l
})

// Fault says a fault in plain words, with what to do about it; "" for one that no
// round raises.
func Fault(f analysis.Fault) string { return sentences().Faults[f] }

// Work says what was done to the axle, by the feature that tells of it.
func Work(feature string) string {
	return cmp.Or(sentences().Works[feature], "the axle was opened again")
}

// Why says in a line why a feature is measured or a move is made; "" where nothing is
// said of it.
func Why(feature string) string { return sentences().Whys[feature] }

// figure writes itself short for %s and as any number for the other verbs.
type figure float64

func (f figure) String() string { return units.Short(float64(f)) }

// Note says what a note of a measurement is of.
func Note(n analysis.Note) string {
	if n.Code == analysis.SpikesAside {
		return units.Counted(int(n.Args[0]), "spike", "spikes") + " left out" +
			Given(n.Args[1] > 0, "; at the same place each turn: burr, paint or bruise")
	}
	return fmt.Sprintf(sentences().Notes[n.Code], figures(n.Args)...)
}

func figures(vs []float64) []any {
	args := make([]any, len(vs))
	for i, v := range vs {
		args[i] = figure(v)
	}
	return args
}

// Notes says each note in turn, an empty list for none.
func Notes(l []analysis.Note) []string {
	said := make([]string, len(l))
	for i, n := range l {
		said[i] = Note(n)
	}
	return said
}

// Joined says all the notes in one line, "; " between them.
func Joined(l []analysis.Note) string { return strings.Join(Notes(l), "; ") }

// ofStrongBolt is a torque above the bolt's ceiling.
const ofStrongBolt = setup.OfBolt + ", above its ceiling"

// Doubt says why a printed figure is worth a second look.
func Doubt(d setup.Doubt, length Length) string {
	of := d.Of
	if of == setup.OfBolt && d.Args[0] > d.Args[1] {
		of = ofStrongBolt
	}
	args := figures(d.Args)
	for i, v := range d.Args {
		whole := of == setup.OfAnySize || of == setup.OfFace || d.Kind == setup.DoubtCoarse
		if whole || i > 0 && (of == setup.OfSize || of == setup.OfGauge) { // the first is of the wheel, or a count
			args[i] = length(v)
		}
	}
	for _, name := range d.Names {
		args = append(args, name)
	}
	return fmt.Sprintf(sentences().Doubts[of]+sentences().Doubts[of+" "+d.Kind], args...)
}

// Contact says what a contact pattern asks for.
func Contact(a setup.PatternAdvice) string {
	return sentences().Contacts[a.Seen] + Given(a.Odd, " Along the tooth the flanks lie the other way than this tooth form should: check the form first.")
}

// Following says whether the backlash goes up and down with the back face.
func Following(f setup.Following, length Length) string {
	cause := "look at the tooth spacing and the pinion."
	switch {
	case f.Follows && f.Against:
		cause = "high where the face reads low, as it should be only if that indicator counts down when its plunger is pushed in; then the gear's seat makes it, else look at the tooth spacing and the pinion."
	case f.Follows:
		cause = "the gear's seat makes it, not the teeth, if that indicator counts up when its plunger is pushed in."
	}
	return fmt.Sprintf("The back face explains %.0f %% of the backlash's variation (once a turn %s, by the face %s): ", 100*f.Explained, length(f.Swing), length(f.Expected)) + cause
}
