package main

import (
	"strconv"
	"strings"

	"crownlog/cmd/crownlog/dashboard"
)

// drawable says what to do about a terminal that cannot be drawn on.
func drawable() error {
	if err := dashboard.CheckTerminal(); err != nil {
		return usagef("set TERM to a type it knows, such as xterm-256color, or give --no-screen", "%w", err)
	}
	return nil
}

// screenOptions reads from the environment how the dashboard is to be drawn:
// NO_COLOR (no-color.org), and COLORFGBG, in which many terminals leave the
// numbers of their foreground and background colours.
func screenOptions(getenv func(string) string) dashboard.Options {
	return dashboard.Options{
		NoColor: getenv("NO_COLOR") != "",
		Light:   lightBackground(getenv("COLORFGBG")),
		Bell:    true,
	}
}

// lightBackground reports whether the last number of "15;0" or "0;default;15"
// is one of the light among the sixteen colours.
func lightBackground(colorFGBG string) bool {
	fields := strings.Split(colorFGBG, ";")
	n, err := strconv.Atoi(fields[len(fields)-1])
	return err == nil && (n == 7 || n >= 9 && n <= 15)
}
