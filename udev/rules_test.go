// Package udev holds the rules file for udev; its test checks the grammar.
package udev

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A key may be compared, assigned, or both, and may need or forbid a name in
// braces. Source: the manual page udev(7).
type key struct {
	match, assign, name bool
}

var keys = map[string]key{
	"ACTION": {match: true}, "DEVPATH": {match: true}, "KERNEL": {match: true}, "KERNELS": {match: true},
	"NAME": {match: true, assign: true}, "SYMLINK": {match: true, assign: true},
	"SUBSYSTEM": {match: true}, "SUBSYSTEMS": {match: true}, "DRIVER": {match: true}, "DRIVERS": {match: true},
	"ATTR": {match: true, assign: true, name: true}, "ATTRS": {match: true, name: true},
	"SYSCTL": {match: true, assign: true, name: true}, "ENV": {match: true, assign: true, name: true},
	"CONST": {match: true, name: true}, "TAG": {match: true, assign: true}, "TAGS": {match: true},
	"TEST": {match: true}, "PROGRAM": {match: true}, "RESULT": {match: true},
	"OWNER": {assign: true}, "GROUP": {assign: true}, "MODE": {assign: true},
	"SECLABEL": {assign: true, name: true}, "RUN": {assign: true}, "LABEL": {assign: true}, "GOTO": {assign: true},
	"IMPORT": {match: true, assign: true, name: true}, "OPTIONS": {assign: true},
}

var part = regexp.MustCompile(`^([A-Z]+)(?:\{([^}]*)\})?(==|!=|\+=|-=|:=|=)"((?:[^"\\]|\\.)*)"$`)

// lint returns what is wrong in a rules file, each with its line.
func lint(text string) []string {
	var wrong []string
	labels := map[string]bool{}
	var jumps []string
	say := func(line int, format string, args ...any) {
		wrong = append(wrong, fmt.Sprintf("line %d: ", line)+fmt.Sprintf(format, args...))
	}
	for i, raw := range strings.Split(text, "\n") {
		line := strings.TrimSpace(raw)
		if line == "" || line[0] == '#' {
			continue
		}
		compares, acts := false, false
		for _, p := range split(line) {
			m := part.FindStringSubmatch(p)
			if m == nil {
				say(i+1, "not KEY OPERATOR \"VALUE\": %s", p)
				continue
			}
			name, brace, op, value := m[1], m[2], m[3], m[4]
			k, ok := keys[name]
			compare := op == "==" || op == "!="
			switch {
			case !ok:
				say(i+1, "unknown key %s", name)
			case compare && !k.match:
				say(i+1, "%s cannot be compared", name)
			case !compare && !k.assign:
				say(i+1, "%s cannot be assigned", name)
			case k.name != (brace != "") && name != "TEST" && name != "RUN" && name != "OPTIONS":
				say(i+1, "%s with or without a name in braces", name)
			case compare && value == "":
				say(i+1, "%s compared with nothing", name)
			}
			compares, acts = compares || compare, acts || !compare
			switch name {
			case "LABEL":
				if labels[value] {
					say(i+1, "label %q twice", value)
				}
				labels[value] = true
			case "GOTO":
				jumps = append(jumps, value)
				if labels[value] {
					say(i+1, "GOTO %q jumps back", value)
				}
			}
		}
		if compares && !acts {
			say(i+1, "a rule that does nothing")
		}
	}
	for _, j := range jumps {
		if !labels[j] {
			wrong = append(wrong, fmt.Sprintf("GOTO %q has no label", j))
		}
	}
	return wrong
}

// split cuts a rule at the commas outside of quotes.
func split(line string) []string {
	var parts []string
	start, quoted := 0, false
	for i := 0; i < len(line); i++ {
		switch {
		case line[i] == '\\':
			i++
		case line[i] == '"':
			quoted = !quoted
		case line[i] == ',' && !quoted:
			parts = append(parts, strings.TrimSpace(line[start:i]))
			start = i + 1
		}
	}
	return append(parts, strings.TrimSpace(line[start:]))
}

func rules(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("60-crownlog.rules")
	require.NoError(t, err)
	return string(b)
}

func TestRulesAreWellFormed(t *testing.T) {
	assert.Empty(t, lint(rules(t)))
}

// The program of the system knows more than our lint, where it is new enough
// to check a file without acting on it.
func TestSystemAcceptsTheRules(t *testing.T) {
	if exec.Command("udevadm", "verify", "--help").Run() != nil {
		t.Skip("no udevadm that verifies")
	}
	out, err := exec.Command("udevadm", "verify", "60-crownlog.rules").CombinedOutput()
	assert.NoError(t, err, "%s", out)
}

func TestLintFindsFaults(t *testing.T) {
	for in, want := range map[string]string{
		`KERNEL="ttyACM*", TAG+="uaccess"`:          "line 1: KERNEL cannot be assigned",
		`COLOUR=="red", TAG+="uaccess"`:             "line 1: unknown key COLOUR",
		`KERNEL=="tty*"`:                            "line 1: a rule that does nothing",
		`KERNEL=="tty*", GOTO="end"`:                `GOTO "end" has no label`,
		`KERNEL==tty, TAG+="uaccess"`:               `line 1: not KEY OPERATOR "VALUE": KERNEL==tty`,
		`KERNEL=="tty*" TAG+="uaccess"`:             `line 1: not KEY OPERATOR "VALUE": KERNEL=="tty*" TAG+="uaccess"`,
		`ATTRS=="0403", TAG+="uaccess"`:             "line 1: ATTRS with or without a name in braces",
		`MODE=="0666", TAG+="uaccess"`:              "line 1: MODE cannot be compared",
		"LABEL=\"a\"\nLABEL=\"a\"":                  `line 2: label "a" twice`,
		"LABEL=\"a\"\nKERNEL==\"tty*\", GOTO=\"a\"": `line 2: GOTO "a" jumps back`,
	} {
		assert.Equal(t, []string{want}, lint(in), in)
	}
}

func TestRulesSortBeforeAccessIsGiven(t *testing.T) {
	names, err := filepath.Glob("*.rules")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, n := range names {
		assert.Less(t, n, "73-seat-late.rules")
	}
}

// In udev the identifiers are lower-case hex of four digits.
func TestIdentifiersAreLowerCaseHex(t *testing.T) {
	id := regexp.MustCompile(`^[0-9a-f]{4}$`)
	n := 0
	for _, m := range regexp.MustCompile(`ATTRS\{id(?:Vendor|Product)\}=="([^"]*)"`).FindAllStringSubmatch(rules(t), -1) {
		for _, v := range strings.Split(m[1], "|") {
			assert.Regexp(t, id, v)
			n++
		}
	}
	assert.Greater(t, n, 20)
}

func TestRulesGiveAccessKeepModemsOffAndNamePorts(t *testing.T) {
	text := rules(t)
	for _, want := range []string{`TAG+="uaccess"`, `ENV{ID_MM_DEVICE_IGNORE}="1"`, `SYMLINK+="crownlog/`, `KERNEL=="ttyACM[0-9]*"`} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, text, "MODE=", "no port is opened to everybody")
}
