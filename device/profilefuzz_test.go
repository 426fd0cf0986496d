package device

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"crownlog/device/strict"
)

// place is how each mistake begins.
var place = regexp.MustCompile(`^p\.toml(?::([1-9]\d*):[1-9]\d*)?: `)

func FuzzProfile(f *testing.F) {
	list, err := filepath.Glob("profiles/*.toml")
	require.NoError(f, err)
	for _, path := range list {
		b, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(b)
	}
	for _, empty := range []string{"", " \n", "#"} {
		f.Add([]byte(empty))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := strict.Decode("p.toml", b, Profile.mistakes)
		if err != nil {
			require.Equal(t, Profile{}, p)
			for mistake := range strings.Lines(err.Error()) {
				m := place.FindStringSubmatch(mistake)
				require.NotNil(t, m, mistake)
				if m[1] != "" { // none: a key that is nowhere, or the file as a whole
					line, err := strconv.Atoi(m[1])
					require.NoError(t, err)
					require.LessOrEqual(t, line, 1+bytes.Count(b, []byte("\n")), mistake)
				}
			}
			return
		}
		_, err = p.NewDecoder()
		require.NoError(t, err)
	})
}
