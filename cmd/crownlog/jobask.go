package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A question asks for what goes into a new sheet in one line.
type question struct {
	text  string
	flags []string // of what its answer sets
	doubt string   // where the sheet is doubted for it
	take  func(p *sheet.Params, answer string) error
}

// questions are what a job cannot do without, and the bolts.
var questions = []question{
	{"Name of the vehicle: registration, fleet number or any", []string{"--vehicle"}, "",
		func(p *sheet.Params, answer string) error { p.Vehicle = answer; return nil }},
	{"Teeth of the pinion and the crown wheel, as 11 43 (Enter: unknown)", []string{"--pinion-teeth", "--wheel-teeth"}, "gear_set",
		(*sheet.Params).SetTeeth},
	{"The manual's backlash window, its unit and the page, as 0.13 0.18 mm p. 12\n  (no manual: the crown wheel's diameter, as 220 mm, for the usual window)",
		[]string{"--lower", "--upper", "--unit", "--wheel-diameter"}, "window " + record.FeatureBacklash, (*sheet.Params).SetWindow},
	{"One count of the indicator, as 0.01 mm or 0.0005 in (Enter: 0.01 mm)", []string{"--resolution"}, "",
		orUsual("0.01", (*sheet.Params).SetResolution)},
	{"Gears kept or new, adjusters or shims, lock or no lock (Enter: kept adjusters lock)", nil, "",
		(*sheet.Params).SetKind},
	{"Crown wheel bolts, usually 8, 10 or 12: how many, torque and unit, thread and class if known,\n  as 10 98 N·m M12x1.25 10.9 (Enter: later, in job.toml)", []string{"--bolts"},
		"bolts " + record.FeatureWheelBolts, func(p *sheet.Params, answer string) error { p.WheelBolts = answer; return nil }},
	{"Bearing cap bolts, usually 4, in the same way (Enter: later, in job.toml)", []string{"--caps", "--bolts"},
		"bolts " + record.FeatureCapBolts, func(p *sheet.Params, answer string) error { p.CapBolts = answer; return nil }},
}

// orUsual takes the usual answer for none.
func orUsual(usual string, take func(*sheet.Params, string) error) func(*sheet.Params, string) error {
	return func(p *sheet.Params, answer string) error {
		if answer == "" {
			answer = usual
		}
		return take(p, answer)
	}
}

// ask puts the questions, each until its answer can stand. "back" goes to the one
// before. Each answer is kept on the disk beside the folder to be, so that whatever
// ends the run loses none: the next one offers them in brackets.
func (c *jobNewCmd) ask(con *console, questions []question) error {
	c.Params = sheet.UsualParams()
	answers := recall(c.Dir)
	fmt.Fprintln(con.err, "Answer in one line each; back goes to the question before, - answers nothing.")
	if len(answers) > 0 {
		fmt.Fprintln(con.err, "The answers of last time stand in brackets: Enter takes them.")
	}
	lines, doubted := bufio.NewScanner(con.stdin()), ""
	for i := 0; i < len(questions); {
		q, kept := questions[i], ""
		if i < len(answers) {
			kept = answers[i]
		}
		fmt.Fprintf(con.err, "%d/%d %s%s: ", i+1, len(questions), q.text, prefixed(" ", bracketed(kept)))
		if !lines.Scan() {
			fmt.Fprintln(con.err)
			ended := "the answers ended early"
			if errors.Is(lines.Err(), errInterrupted) {
				ended = "interrupted"
			}
			return usagef(fmt.Sprintf("no folder was made; the answers so far are kept, and crownlog job new %s offers them", c.Dir), "job new: %s", ended)
		}
		answer := strings.TrimSpace(lines.Text())
		switch answer {
		case "back":
			i = max(i-1, 0)
			continue
		case "":
			answer = kept
		case "-":
			answer = ""
		}
		wrong, doubt := q.put(&c.Params, answer)
		switch {
		case wrong != "":
			fmt.Fprintf(con.err, "%s\n", wrong)
			continue
		case doubt != "" && answer != doubted:
			doubted = answer
			fmt.Fprintf(con.err, "look: %s. Type it again if it is so, or type the right one.\n", doubt)
			continue
		}
		answers = append(answers, make([]string, max(i+1-len(answers), 0))...)
		answers[i] = answer
		if err := keep(c.Dir, answers); err != nil {
			con.say("the answers are not kept: %v", err)
		}
		i++
	}
	return nil
}

// put takes an answer, or says what is wrong with it; what is only odd is a doubt.
func (q question) put(p *sheet.Params, answer string) (wrong, doubt string) {
	if err := q.take(p, answer); err != nil {
		return err.Error(), ""
	}
	soFar := *p
	if soFar.Upper == 0 && soFar.WheelDiameterMM == 0 { // not asked yet
		soFar.Lower, soFar.Upper = 0.13, 0.18
	}
	text, err := sheet.NewTOML(soFar)
	for _, m := range mistakes(soFar, err) {
		if slices.Contains(q.flags, m.flag) {
			return strings.TrimSuffix(m.text, ", or give --example"), ""
		}
	}
	s, _ := sheet.Parse("", text) // its mistakes are told before, and of nothing there is no doubt
	for _, f := range s.Check() {
		if f.Severity == sheet.Doubt && f.Where == q.doubt {
			return "", f.Text
		}
	}
	return "", ""
}

func bracketed(text string) string {
	if text == "" {
		return ""
	}
	return "[" + text + "]"
}

// answersFile is where the answers for a new job are kept until its folder is made:
// beside it, for it must be empty.
func answersFile(dir string) string {
	if whole, err := filepath.Abs(dir); err == nil {
		dir = whole
	}
	return dir + ".answers"
}

// recall is what was answered before for a folder, a line a question.
func recall(dir string) []string {
	text, err := os.ReadFile(answersFile(dir))
	if err != nil || len(text) == 0 {
		return nil
	}
	return strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
}

// keep writes the answers down.
func keep(dir string, answers []string) error {
	return journal.ReplaceFile(answersFile(dir), func(w io.Writer) error {
		_, err := io.WriteString(w, strings.Join(answers, "\n")+"\n")
		return err
	})
}

// forget takes the answers away once the folder has them.
func forget(dir string) error {
	if err := os.Remove(answersFile(dir)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
