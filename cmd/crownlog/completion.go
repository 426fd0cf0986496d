package main

import (
	"strings"

	"github.com/alecthomas/kong"

	"crownlog/device"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// Help is shown by completion --help.
func (c *completionCmd) Help() string {
	return "bash:\n\n" +
		"    crownlog completion bash > ~/.local/share/bash-completion/completions/crownlog\n\n" +
		"zsh, a line in ~/.zshrc, after compinit where that is called:\n\n" +
		"    source <(crownlog completion zsh)\n\n" +
		"fish:\n\n" +
		"    crownlog completion fish > ~/.config/fish/completions/crownlog.fish"
}

// Run prints the script, made from the command line itself.
func (c *completionCmd) Run(con *console) error {
	app, err := newParser(&verbs{}, con, func(int) {})
	if err != nil {
		return err
	}
	places := completions(app.Model.Node)
	switch c.Shell {
	case "fish":
		fishScript(con.out, places)
	case "zsh":
		zshScript(con.out, places)
	default:
		bashScript(con.out, places)
	}
	return nil
}

// verbOffers is what can follow one verb.
type verbOffers struct {
	verb  string // " job new"; "" for the program itself
	words []word // subverbs, or the values of its argument
	files bool   // a path can follow too
	flags []flagWord
}

// A word is a word to offer, and what it is for.
type word struct{ text, help string }

// A flagWord is a flag to offer, with its values where they are known.
type flagWord struct {
	word
	takesValue bool
	values     []string
	files      bool // a path is a value too
}

// completions lists what can follow n and every verb below it, parents first.
func completions(n *kong.Node) []verbOffers {
	p := verbOffers{verb: verbPath(n), files: len(n.Children) == 0}
	if n.Parent != nil {
		p.flags = append(p.flags, flagWord{word: word{"--help", "Show context-sensitive help."}})
	}
	for _, f := range n.Flags {
		if !f.Hidden {
			p.flags = append(p.flags, flagForms(f)...)
		}
	}
	for _, arg := range n.Positional {
		for _, value := range valuesOf(arg) {
			p.words = append(p.words, word{text: value})
		}
		p.files = p.files && arg.Enum == ""
	}
	places := []verbOffers{p}
	for _, child := range n.Children {
		if child.Hidden {
			continue
		}
		places[0].words = append(places[0].words, word{child.Name, child.Help})
		places = append(places, completions(child)...)
	}
	return places
}

// flagForms is a flag as it is typed: one that can be negated is two.
func flagForms(f *kong.Flag) []flagWord {
	values := valuesOf(f.Value)
	out := []flagWord{{
		word: word{"--" + f.Name, f.Help}, takesValue: !f.IsBool(),
		values: values, files: len(values) == 0 || f.Name == "gauge",
	}}
	if f.Tag.Negatable != "" {
		out = append(out, flagWord{word: word{"--no-" + f.Name, "Not: " + f.Help}})
	}
	return out
}

// valuesOf is what can be given for a flag or an argument, as far as that is
// known without the job.
func valuesOf(v *kong.Value) []string {
	switch {
	case v.Enum != "":
		return strings.FieldsFunc(v.Enum, func(r rune) bool { return r == ',' })
	case v.Name == "stage":
		return sheet.Sheet{}.StageList()
	case v.Name == "feature":
		return record.Features()
	case v.Name == "gauge", v.Name == "name":
		var names []string
		for _, p := range device.Profiles() {
			names = append(names, p.Name)
		}
		return names
	}
	return nil
}

// verbPath returns " job new" for the node of `crownlog job new`, and "" for
// the program itself.
func verbPath(n *kong.Node) string {
	if n.Parent == nil {
		return ""
	}
	return verbPath(n.Parent) + " " + n.Name
}
