package main

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"crownlog/device"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// completionScripts ask the hidden verb offer what can follow.
//
//go:embed completion
var completionScripts embed.FS

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish,powershell" help:"bash, zsh, fish or powershell; the first line of the script says where it belongs."`
}

// Run prints the script.
func (c *completionCmd) Run(con *console) error {
	script, err := completionScripts.ReadFile("completion/crownlog." + c.Shell)
	if err != nil {
		return err
	}
	_, err = con.out.Write(script)
	return err
}

type offerCmd struct {
	Words []string `arg:"" optional:"" help:"The command line so far without the program; the last word is the one being typed."`
}

// Run prints what the last word can become, one a line, with what it is for
// behind a tab. Nothing fits a path, or a value that is not known without the
// job.
func (c *offerCmd) Run(con *console, app *kong.Kong) error {
	if len(c.Words) == 0 {
		return nil
	}
	typed := c.Words[len(c.Words)-1]
	node, flag := app.Model.Node, (*kong.Flag)(nil)
	for _, word := range c.Words[:len(c.Words)-1] {
		flag = nil
		if i := slices.IndexFunc(node.Flags, func(f *kong.Flag) bool { return "--"+f.Name == word && !f.IsBool() }); i >= 0 {
			flag = node.Flags[i]
		}
		if i := slices.IndexFunc(node.Children, func(n *kong.Node) bool { return n.Name == word }); i >= 0 {
			node = node.Children[i]
		}
	}
	offer := func(word, help string) {
		if strings.HasPrefix(word, typed) {
			fmt.Fprintf(con.out, "%s\t%s\n", word, help)
		}
	}
	switch {
	case flag != nil:
		for _, v := range valuesOf(flag.Value) {
			offer(v, "")
		}
	case strings.HasPrefix(typed, "-"):
		for _, f := range slices.Concat(node.AllFlags(true)...) {
			offer("--"+f.Name, f.Help)
			if f.Tag.Negatable != "" {
				offer("--no-"+f.Name, "Not: "+f.Help)
			}
		}
	default:
		for _, child := range node.Children {
			if !child.Hidden {
				offer(child.Name, child.Help)
			}
		}
		for _, arg := range node.Positional {
			for _, v := range valuesOf(arg) {
				offer(v, "")
			}
		}
	}
	return nil
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
