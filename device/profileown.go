package device

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// UserProfileDir returns where a user keeps own profiles:
// crownlog/profiles under the configuration folder of the system
// (XDG_CONFIG_HOME, or ~/.config, on Linux).
func UserProfileDir() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", err
	}
	return filepath.Join(dir, "crownlog", "profiles"), nil
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
