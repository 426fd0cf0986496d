package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"crownlog/device"
	"crownlog/device/identify"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

type identifyCmd struct {
	Port    string        `arg:"" help:"Port to listen to: /dev/ttyUSB0, COM3, tcp://host:port, rfc2217://host:port, keyboard:VVVV:PPPP, keyboard: for a cable that types into this window."`
	MaySend bool          `help:"Questions may be sent to the port while it is silent: *IDN?, reads of Modbus registers, and last single letters that gauges answer with their value; to a few instruments a letter means a reset. The search stops at the speed that answers. Without it nothing is sent."`
	Listen  time.Duration `help:"How long to listen at each setting of the line, at most." default:"1500ms"`
	Baud    []int         `help:"Line speeds to try. Default: the common ones."`
	Write   string        `help:"Write the proposal as a profile to this new file; of text that cannot be told, one with a pattern to be mended." placeholder:"FILE"`
	JSON    bool          `name:"json" help:"Print a JSON array."`
}

// Run listens, prints what fits with its evidence, and says so when nothing
// does or two proposals are close: then nothing is written, for a wrong profile is
// worse than none.
func (c *identifyCmd) Run(ctx context.Context, con *console) error {
	switch {
	case slices.Min(append(c.Baud, 1)) <= 0:
		return usagef("give bits a second, like 9600", "--baud %d is no line speed", slices.Min(c.Baud))
	case c.Listen <= 0:
		return usagef("give a time like 1500ms", "--listen %v is no time to listen", c.Listen)
	}
	if _, err := os.Lstat(c.Write); err == nil { // none is no file
		return fmt.Errorf("%s: %w", c.Write, fs.ErrExist)
	}
	con.say("move the gauge while it is listened to: that shows which number is its value")
	found, err := identify.Port(ctx, c.Port, identify.Options{
		MaySend: c.MaySend, MayMove: con.asks(), Listen: c.Listen, Bauds: c.Baud,
		Progress: func(text string) { con.say("%s", text) },
	})
	why, unknown := errors.AsType[*identify.CannotTell](err)
	if err != nil && !unknown {
		return err
	}
	if err := con.print(c.JSON, report.Each(found, proposalObject), func(w io.Writer) { printProposals(w, found) }); err != nil {
		return err
	}
	switch {
	case unknown:
		return c.cannotTell(con, why)
	case !found[0].Sure():
		con.say("cannot tell for sure, and nothing was written; move the gauge further while it is listened to, or take one of them by hand")
		return errOutside
	case c.Write != "":
		return writeProfile(c.Write, found[0].Profile, nil)
	}
	return nil
}

// cannotTell shows what was heard and says what to try when nothing fits.
func (c *identifyCmd) cannotTell(con *console, why *identify.CannotTell) error {
	hint := "is the gauge on and sending? Some send only at the press of their button"
	if len(why.Lines) > 0 {
		hint = "compare what was heard with the gauge's manual"
	}
	con.say("%v; %s%s", why, hint, words.Given(!c.MaySend, "; --may-send lets crownlog ask it"))
	for _, line := range why.Lines {
		con.say("  heard: %s", line)
	}
	switch {
	case why.Draft == nil:
	case c.Write == "":
		con.say("--write FILE makes a profile of it whose pattern you can mend")
	default:
		con.say("%s gets a pattern to be mended: crownlog profiles check %[1]s CAPTURE shows what it reads", c.Write)
		return errors.Join(writeProfile(c.Write, *why.Draft, why.Lines), errOutside)
	}
	return errOutside
}

func proposalObject(p identify.Proposal) report.Object {
	samples := report.Each(p.Samples, func(s identify.Sample) report.Object {
		return report.Object{{"raw", s.Raw}, {"value", s.Value}, {"unit", s.Unit}}
	})
	o := report.Object{
		{"profile", profileObject(p.Profile)}, {"clean_share", p.Clean}, {"frames", p.Frames}, {"broken", p.Broken},
		{"rate_hz", p.Rate}, {"sure", p.Sure()}, {"samples", samples}, {"notes", append([]string{}, p.Notes...)},
	}
	return append(o, given(!math.IsInf(p.Margin, 0), "margin_bits", p.Margin)...)
}

// printProposals prints the best first.
func printProposals(w io.Writer, found []identify.Proposal) {
	for i, p := range found {
		fmt.Fprintf(w, "%d. %s: %.0f %% of %d frames clean%s%s\n", i+1, strings.Join(profileRow(p.Profile), ", "), 100*p.Clean, p.Frames+p.Broken,
			words.Given(p.Rate > 0, fmt.Sprintf(", %.3g readings a second", p.Rate)),
			words.Given(i == 0 && len(found) > 1, fmt.Sprintf(", %.0f bits ahead of the next", p.Margin)))
		for _, s := range p.Samples {
			fmt.Fprintf(w, "   %q is %g%s\n", s.Raw, s.Value, prefixed(" ", s.Unit))
		}
		for _, n := range p.Notes {
			fmt.Fprintf(w, "   note: %s\n", n)
		}
	}
}

// writeProfile writes a profile to a file that was not there, with lines that
// were heard as a comment.
func writeProfile(path string, p device.Profile, heard []string) error {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	var comment []byte
	for _, line := range heard {
		comment = fmt.Appendf(comment, "# heard: %q\n", line)
	}
	_, err = file.Write(comment)
	return errors.Join(err, p.WriteTOML(file), file.Close())
}
