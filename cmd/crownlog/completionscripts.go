package main

import (
	"fmt"
	"io"
	"strings"
)

// bashScript writes a script for bash 3.2 and later: where no word fits, bash
// itself offers paths.
func bashScript(w io.Writer, places []verbOffers) {
	fmt.Fprintf(w, `_crownlog() {
  local cur=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} verb= word offers=
  for word in "${COMP_WORDS[@]:1:$((COMP_CWORD-1))}"; do
    case "$verb $word" in
      %s) verb+=" $word" ;;
    esac
  done
%s  COMPREPLY=()
  while IFS= read -r word; do
    COMPREPLY+=("$word")
  done < <(compgen -W "$offers" -- "$cur")
}
complete -o default -F _crownlog crownlog
`, verbPattern(places), offersByPlace(places))
}

// zshScript writes a script that is sourced.
func zshScript(w io.Writer, places []verbOffers) {
	fmt.Fprintf(w, `_crownlog() {
  local cur=$words[CURRENT] before=$words[CURRENT-1] verb= word offers=
  for word in "${(@)words[2,CURRENT-1]}"; do
    case "$verb $word" in
      %s) verb+=" $word" ;;
    esac
  done
%s  compadd -- ${=offers} || _files
}
if (( ! $+functions[compdef] )); then
  autoload -Uz compinit && compinit -i
fi
compdef _crownlog crownlog
`, verbPattern(places), offersByPlace(places))
}

// verbPattern matches what makes up a verb so far: " job"|" job new"|...
func verbPattern(places []verbOffers) string {
	var paths []string
	for _, p := range places {
		if p.verb != "" {
			paths = append(paths, fmt.Sprintf("%q", p.verb))
		}
	}
	return strings.Join(paths, "|")
}

// offersByPlace is the part of bash and zsh that sets offers: the values of the
// flag just before, else flags after a hyphen, else words.
func offersByPlace(places []verbOffers) string {
	var values, flags, words strings.Builder
	var unknown []string // flags whose values are not known
	for _, p := range places {
		var names []string
		for _, f := range p.flags {
			names = append(names, f.text)
			switch at := fmt.Sprintf("%q", p.verb+" "+f.text); {
			case len(f.values) > 0:
				fmt.Fprintf(&values, "    %s) offers=%q ;;\n", at, strings.Join(f.values, " "))
			case f.takesValue:
				unknown = append(unknown, at)
			}
		}
		fmt.Fprintf(&flags, "      %q) offers=%q ;;\n", p.verb, strings.Join(names, " "))
		if len(p.words) > 0 {
			fmt.Fprintf(&words, "      %q) offers=%q ;;\n", p.verb, texts(p.words))
		}
	}
	return fmt.Sprintf(`  case "$verb $before" in
%s    %s) ;;
    *) case "$cur" in
    -*) case "$verb" in
%s      esac ;;
    *) case "$verb" in
%s      esac ;;
    esac ;;
  esac
`, values.String(), strings.Join(unknown, "|"), flags.String(), words.String())
}

func texts(words []word) string {
	var out []string
	for _, w := range words {
		out = append(out, w.text)
	}
	return strings.Join(out, " ")
}

// fishScript writes a script for fish. A line applies where __crownlog_at finds
// its verb on the command line.
func fishScript(w io.Writer, places []verbOffers) {
	fmt.Fprint(w, "function __crownlog_at\n  set -l words (commandline -opc)\n  set -e words[1]\n  set -l verb ''\n"+
		"  for word in $words\n    switch \"$verb $word\"\n      case")
	for _, p := range places {
		if p.verb != "" {
			fmt.Fprint(w, " "+fishQuote(p.verb))
		}
	}
	fmt.Fprint(w, "\n        set verb \"$verb $word\"\n    end\n  end\n  test \"$verb\" = \"$argv[1]\"\nend\n")
	for _, p := range places {
		line := "complete -c crownlog -n " + fishQuote("__crownlog_at "+fishQuote(p.verb))
		if !p.files {
			fmt.Fprintln(w, line+" -f")
		}
		for _, offered := range p.words {
			fmt.Fprintln(w, line+" -a "+offered.text+" -d "+fishQuote(offered.help))
		}
		for _, f := range p.flags {
			fmt.Fprintln(w, line+" -l "+strings.TrimPrefix(f.text, "--")+fishValue(f)+" -d "+fishQuote(f.help))
		}
	}
}

// fishValue is how fish is told what follows a flag.
func fishValue(f flagWord) string {
	offers := ""
	if len(f.values) > 0 {
		offers = " -a " + fishQuote(strings.Join(f.values, " "))
	}
	switch {
	case !f.takesValue:
		return ""
	case f.files:
		return " -r" + offers
	}
	return " -x" + offers
}

// fishQuote puts s in single quotes as fish reads them.
func fishQuote(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(s) + "'"
}
