package main

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

type jobNewCmd struct {
	Dir     string `arg:"" help:"Folder to make; it may exist when it is empty."`
	Example bool   `help:"Fill it with the invented example."`
	Like    string `help:"Copy the job.toml of another job, but for its vehicle; its windows wait to be confirmed for this one." placeholder:"JOB"`
	sheet.Params
}

// Run makes the folder from the flags, or without any from the answers to a few
// questions.
func (c *jobNewCmd) Run(con *console) error {
	if err := journal.CanCreate(c.Dir); err != nil {
		return err
	}
	text, err := c.sheet(con)
	if err != nil {
		return err
	}
	folder, err := job.Create(c.Dir, text)
	if err != nil {
		return err
	}
	for _, f := range job.CheckSheet(folder.Sheet()) {
		con.say("%s", findingLine(f))
	}
	if err := folder.Close(); err != nil {
		return err
	}
	fmt.Fprintln(con.out, filepath.Join(c.Dir, "job.toml"))
	_ = os.Remove(answersFile(c.Dir)) // if there were questions
	return nil
}

// sheet writes the job sheet. Its mistakes are told by key, for it is no file yet.
func (c *jobNewCmd) sheet(con *console) ([]byte, error) {
	switch {
	case c.Example:
		return sheet.ExampleTOML(), nil
	case c.Like != "":
		return c.like(con)
	}
	if c.Label == "" && c.PinionTeeth == 0 && c.WheelTeeth == 0 && c.Upper == 0 && c.WheelDiameterMM == 0 {
		if err := c.ask(con, len(questions)); err != nil {
			return nil, err
		}
	}
	text, err := sheet.NewTOML(c.Params)
	if err != nil {
		return nil, fmt.Errorf("job new: %w", err)
	}
	return text, nil
}

// like copies the sheet of another job. Only whose file it is can be set by flags.
func (c *jobNewCmd) like(con *console) ([]byte, error) {
	rest := c.Params
	rest.Vehicle = sheet.Vehicle{}
	if rest != sheet.UsualParams() {
		return nil, usagef("change the rest in job.toml", "--like goes with --vehicle, --job, --axle, --odometer and --operator only")
	}
	text, err := os.ReadFile(filepath.Join(c.Like, journal.SheetFile))
	if err != nil {
		return nil, fmt.Errorf("copy job.toml: %w", err)
	}
	if c.Label == "" {
		if err := c.ask(con, 1); err != nil {
			return nil, err
		}
	}
	con.say("copied from %s: its windows wait to be confirmed for this vehicle", c.Like)
	return sheet.Like(text, c.Vehicle)
}

// questions are what a job cannot do without, and the bolts, each with what takes
// its answer.
var questions = []struct {
	text string
	take func(p *sheet.Params, answer string) error
}{
	{"Name of the vehicle: registration, fleet number or any",
		func(p *sheet.Params, answer string) error { p.Label = answer; return nil }},
	{"Teeth of the pinion and the crown wheel, as 11 43 (Enter: unknown)", (*sheet.Params).SetTeeth},
	{"The manual's backlash window, its unit and the page, as 0.13 0.18 mm p. 12 or 0.005 0.007 in p. 12 (no manual: the crown wheel's diameter, as 220 mm, for the usual window)", (*sheet.Params).SetWindow},
	{"One count of the indicator, as 0.01 mm or 0.0005 in (Enter: 0.01 mm)", (*sheet.Params).SetResolution},
	{"Gears kept or new, adjusters or shims, lock or no lock (Enter: kept adjusters lock)", (*sheet.Params).SetKind},
	{"Crown wheel bolts, usually 8, 10 or 12: how many, torque and unit, thread and class if known, as 10 98 N·m M12x1.25 10.9 (Enter: later, in job.toml)",
		func(p *sheet.Params, answer string) error { p.WheelBolts = answer; return nil }},
	{"Bearing cap bolts, usually 4, in the same way (Enter: later, in job.toml)",
		func(p *sheet.Params, answer string) error { p.CapBolts = answer; return nil }},
}

// ask puts the questions, or the first of them, each until its answer can stand. "back" goes to the one
// before. Each answer is kept on the disk beside the folder to be, so that whatever
// ends the run loses none: the next one offers them in brackets.
func (c *jobNewCmd) ask(con *console, most int) error {
	if c.Params == (sheet.Params{}) { // no flag was read
		c.Params = sheet.UsualParams()
	}
	text, _ := os.ReadFile(answersFile(c.Dir)) // without one nothing was answered before
	answers := make([]string, len(questions))
	copy(answers, strings.Split(string(text), "\n"))
	fmt.Fprintln(con.err, con.wrapped("Answer in one line each; back goes to the question before, - answers nothing. What stands in brackets is taken by Enter."))
	lines, doubted := bufio.NewScanner(con.stdin()), make(map[string]bool)
	for i := 0; i < most; {
		offered := words.Given(answers[i] != "", " ["+answers[i]+"]")
		fmt.Fprint(con.err, con.wrapped(fmt.Sprintf("%d/%d %s%s:", i+1, most, questions[i].text, offered)), " ")
		if !lines.Scan() {
			fmt.Fprintln(con.err)
			return usagef("no folder was made; the answers so far are kept, and crownlog job new "+c.Dir+" offers them", "job new: ended early")
		}
		answer := strings.TrimSpace(lines.Text())
		switch answer {
		case "back":
			i = max(i-1, 0)
			continue
		case "":
			answer = answers[i]
		case "-":
			answer = ""
		}
		if problem := c.put(i, answer, doubted); problem != "" {
			fmt.Fprintln(con.err, con.wrapped(problem))
			continue
		}
		answers[i] = answer
		if err := os.WriteFile(answersFile(c.Dir), []byte(strings.Join(answers, "\n")), 0o644); err != nil {
			con.say("the answers are not kept: %v", err)
		}
		i++
	}
	return nil
}

// put takes the answer to a question. It says what is wrong with it, or odd about the
// sheet so far and not doubted before; "" that it can stand.
func (c *jobNewCmd) put(question int, answer string, doubted map[string]bool) (problem string) {
	if err := questions[question].take(&c.Params, answer); err != nil {
		return err.Error()
	}
	p := c.Params
	if p.Upper == 0 && p.WheelDiameterMM == 0 { // not asked yet
		p.Lower, p.Upper = 0.13, 0.18
	}
	text, err := sheet.NewTOML(p)
	if err != nil {
		return err.Error()
	}
	s, _ := sheet.Parse("", text) // as NewTOML did
	for _, f := range s.Check() {
		if f.Severity == sheet.Doubt && !doubted[f.Text] {
			doubted[f.Text] = true
			return fmt.Sprintf("look: %s. Type it again if it is so, or type the right one.", f.Text)
		}
	}
	return ""
}

// answersFile is where the answers for a new job are kept until its folder is made:
// beside it, for it must be empty.
func answersFile(dir string) string {
	whole, _ := filepath.Abs(dir) // which fails where there is no working directory to be in
	return whole + ".answers"
}
