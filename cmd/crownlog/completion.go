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
	before, typed := c.Words[:len(c.Words)-1], c.Words[len(c.Words)-1]
	node, flag := app.Model.Node, (*kong.Flag)(nil)
	for _, word := range before {
		flag = nil
		for _, f := range node.Flags {
			if "--"+f.Name == word && !f.IsBool() {
				flag = f
			}
		}
		for _, child := range node.Children {
			if child.Name == word {
				node = child
			}
		}
	}
	var offers []string
	switch {
	case flag != nil:
		offers = valuesOf(flag.Value)
	case strings.HasPrefix(typed, "-"):
		for _, f := range slices.Concat(node.AllFlags(true)...) {
			offers = append(offers, "--"+f.Name+"\t"+f.Help)
			if f.Tag.Negatable != "" {
				offers = append(offers, "--no-"+f.Name+"\tNot: "+f.Help)
			}
		}
	default:
		for _, child := range node.Children {
			if !child.Hidden {
				offers = append(offers, child.Name+"\t"+child.Help)
			}
		}
		for _, arg := range node.Positional {
			offers = append(offers, valuesOf(arg)...)
		}
	}
	for _, offer := range offers {
		if strings.HasPrefix(offer, typed) {
			fmt.Fprintln(con.out, offer)
		}
	}
	return nil
}

// valuesOf is what can be given for a flag or an argument, as far as that is
// known without the job.
func valuesOf(v *kong.Value) (values []string) {
	switch {
	case v.Enum != "":
		return strings.FieldsFunc(v.Enum, func(r rune) bool { return r == ',' })
	case v.Name == "stage":
		return sheet.Sheet{}.StageList()
	case v.Name == "feature":
		return record.Features()
	case v.Name == "gauge", v.Name == "name":
		for _, p := range device.Profiles() {
			values = append(values, p.Name)
		}
	}
	return values
}
