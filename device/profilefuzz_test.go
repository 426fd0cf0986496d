package device

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
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
		p, err := parseProfile("p.toml", b)
		if err != nil {
			require.Equal(t, Profile{}, p)
			require.Regexp(t, `^p\.toml:\d+:\d+: `, err.Error())
			return
		}
		_, err = p.NewDecoder()
		require.NoError(t, err)
	})
}
