package words

import (
	_ "embed"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"crownlog/analysis"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
)

// sentences are those of each code: another language is another file.
var sentences struct {
	Notes    map[analysis.NoteCode]string `toml:"notes"`
	Contacts map[setup.Seen]string        `toml:"contacts"`
	Doubts   map[string]string            `toml:"doubts"`
}

//go:embed english.toml
var english []byte

func init() {
	if err := toml.Unmarshal(english, &sentences); err != nil {
		panic(err) // it comes with the program
	}
}

// figure writes itself short for %s and as any number for the other verbs.
type figure float64

func (f figure) String() string { return units.Short(float64(f)) }

// Note says what a note of a measurement is of.
func Note(n analysis.Note) string {
	if n.Code == analysis.SpikesAside {
		return units.Counted(int(n.Args[0]), "spike", "spikes") + " left out" +
			Given(n.Args[1] > 0, "; at the same place each turn: burr, paint or bruise")
	}
	return fmt.Sprintf(sentences.Notes[n.Code], figures(n.Args)...)
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
