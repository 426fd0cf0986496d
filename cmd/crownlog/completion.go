package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// Help is shown by completion --help.
func (c *completionCmd) Help() string {
	return "bash: crownlog completion bash > ~/.local/share/bash-completion/completions/crownlog\n" +
		"zsh: source <(crownlog completion zsh) in ~/.zshrc\n" +
		"fish: crownlog completion fish > ~/.config/fish/completions/crownlog.fish"
}

// Run prints the script, made from the command line itself.
func (c *completionCmd) Run(con *console) error {
	app, err := newParser(&verbs{}, con, func(int) {})
	if err != nil {
		return err
	}
	nodes := visibleNodes(app.Model.Node)
	switch c.Shell {
	case "fish":
		fishScript(con.out, nodes)
	case "zsh":
		fmt.Fprintln(con.out, "autoload -U +X bashcompinit && bashcompinit")
		bashScript(con.out, nodes)
	default:
		bashScript(con.out, nodes)
	}
	return nil
}

// visibleNodes returns n and every verb below it, parents first.
func visibleNodes(n *kong.Node) []*kong.Node {
	nodes := []*kong.Node{n}
	for _, child := range n.Children {
		if !child.Hidden {
			nodes = append(nodes, visibleNodes(child)...)
		}
	}
	return nodes
}

// verbPath returns " job new" for the node of `crownlog job new`, and "" for
// the program itself.
func verbPath(n *kong.Node) string {
	if n.Parent == nil {
		return ""
	}
	return verbPath(n.Parent) + " " + n.Name
}

func bashScript(w io.Writer, nodes []*kong.Node) {
	var paths, cases strings.Builder
	for _, n := range nodes {
		path := verbPath(n)
		if path != "" {
			fmt.Fprintf(&paths, "%q|", path)
		}
		words := []string{"--help"}
		for _, child := range n.Children {
			words = append(words, child.Name)
		}
		for _, flag := range n.Flags {
			if flag.Name != "help" && !flag.Hidden {
				words = append(words, "--"+flag.Name)
			}
		}
		fmt.Fprintf(&cases, "    %q) words=%q ;;\n", path, strings.Join(words, " "))
	}
	fmt.Fprintf(w, `_crownlog() {
  local cur=${COMP_WORDS[COMP_CWORD]} path= word words=
  for word in "${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
    case "$path $word" in
      %s) path+=" $word" ;;
    esac
  done
  case "$path" in
%s  esac
  COMPREPLY=($(compgen -W "$words" -- "$cur"))
  if [[ $cur != -* ]]; then
    COMPREPLY+=($(compgen -f -- "$cur"))
  fi
}
complete -o filenames -F _crownlog crownlog
`, strings.TrimSuffix(paths.String(), "|"), cases.String())
}

func fishScript(w io.Writer, nodes []*kong.Node) {
	for _, n := range nodes {
		when := "__fish_use_subcommand"
		if path := strings.Fields(verbPath(n)); len(path) > 0 {
			when = "__fish_seen_subcommand_from " + path[len(path)-1]
		}
		for _, child := range n.Children {
			fmt.Fprintf(w, "complete -c crownlog -n %s -a %s -d %s\n", fishQuote(when), child.Name, fishQuote(child.Help))
		}
		for _, flag := range n.Flags {
			if flag.Hidden {
				continue
			}
			fmt.Fprintf(w, "complete -c crownlog -n %s -l %s -d %s\n", fishQuote(when), flag.Name, fishQuote(flag.Help))
		}
	}
}

// fishQuote puts s in single quotes as fish reads them.
func fishQuote(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(s) + "'"
}
