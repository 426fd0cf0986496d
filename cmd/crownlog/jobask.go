package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"crownlog/logger/journal"
	"crownlog/logger/sheet"
)

// questions are what a job cannot do without, and the bolts, each with what takes
// its answer.
var questions = []struct {
	text string
	take func(p *sheet.Params, answer string) error
}{
	{"Name of the vehicle: registration, fleet number or any",
		func(p *sheet.Params, answer string) error { p.Vehicle = answer; return nil }},
	{"Teeth of the pinion and the crown wheel, as 11 43 (Enter: unknown)", (*sheet.Params).SetTeeth},
	{"The manual's backlash window, its unit and the page, as 0.13 0.18 mm p. 12\n  (no manual: the crown wheel's diameter, as 220 mm, for the usual window)", (*sheet.Params).SetWindow},
	{"One count of the indicator, as 0.01 mm or 0.0005 in (Enter: 0.01 mm)", (*sheet.Params).SetResolution},
	{"Gears kept or new, adjusters or shims, lock or no lock (Enter: kept adjusters lock)", (*sheet.Params).SetKind},
	{"Crown wheel bolts, usually 8, 10 or 12: how many, torque and unit, thread and class if known,\n  as 10 98 N·m M12x1.25 10.9 (Enter: later, in job.toml)",
		func(p *sheet.Params, answer string) error { p.WheelBolts = answer; return nil }},
	{"Bearing cap bolts, usually 4, in the same way (Enter: later, in job.toml)",
		func(p *sheet.Params, answer string) error { p.CapBolts = answer; return nil }},
}

// ask puts the questions, or the first of them, each until its answer can stand. "back" goes to the one
// before. Each answer is kept on the disk beside the folder to be, so that whatever
// ends the run loses none: the next one offers them in brackets.
func (c *jobNewCmd) ask(con *console, most int) error {
	c.Params = sheet.UsualParams()
	answers := recall(c.Dir)
	fmt.Fprintln(con.err, "Answer in one line each; back goes to the question before, - answers nothing.")
	if len(answers) > 0 {
		fmt.Fprintln(con.err, "The answers of last time stand in brackets: Enter takes them.")
	}
	lines, doubted := bufio.NewScanner(con.stdin()), make(map[string]bool)
	for i := 0; i < most; {
		q, kept, offered := questions[i], "", ""
		if i < len(answers) && answers[i] != "" {
			kept, offered = answers[i], " ["+answers[i]+"]"
		}
		fmt.Fprintf(con.err, "%d/%d %s%s: ", i+1, most, q.text, offered)
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
		if err := q.take(&c.Params, answer); err != nil {
			fmt.Fprintln(con.err, err)
			continue
		}
		doubt, err := c.doubt(doubted)
		if err != nil {
			fmt.Fprintln(con.err, err)
			continue
		}
		if doubt != "" {
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

// doubt says what is odd in the sheet so far and was not said before, or what cannot
// be at all.
func (c *jobNewCmd) doubt(said map[string]bool) (string, error) {
	p := c.Params
	if p.Upper == 0 && p.WheelDiameterMM == 0 { // not asked yet
		p.Lower, p.Upper = 0.13, 0.18
	}
	text, err := sheet.NewTOML(p)
	if err != nil {
		return "", err
	}
	s, err := sheet.Parse("", text)
	for _, f := range s.Check() {
		if f.Severity == sheet.Doubt && !said[f.Text] {
			said[f.Text] = true
			return f.Text, err
		}
	}
	return "", err
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
