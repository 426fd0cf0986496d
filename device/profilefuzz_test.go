package device

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"crownlog/device/strict"
)

func FuzzProfile(f *testing.F) {
	list, err := filepath.Glob("profiles/*.toml")
	require.NoError(f, err)
	for _, path := range list {
		b, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := strict.Decode("p.toml", b, Profile.mistakes)
		if err != nil {
			require.Equal(t, Profile{}, p)
			require.Regexp(t, `^p\.toml:\d+:\d+: `, err.Error())
			return
		}
		_, err = p.NewDecoder()
		require.NoError(t, err)
	})
}
