package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"

	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/device/identify"
	"crownlog/logger/report"
)

type profilesCmd struct {
	List  profilesListCmd  `cmd:"" default:"1" help:"List the profiles that come with the program, and your own."`
	Show  profilesShowCmd  `cmd:"" help:"Print a profile as a file to start your own from."`
	Check profilesCheckCmd `cmd:"" help:"Check a profile file, and what it makes of captured bytes."`
}

type profilesListCmd struct {
	JSON bool `name:"json" help:"Print a JSON array."`
}

// profileObject is a profile as JSON.
func profileObject(p device.Profile) report.Object {
	return report.Object{
		{"name", p.Name}, {"title", p.Title}, {"quantity", p.Quantity}, {"unit", p.Unit}, {"resolution", p.Resolution},
		{"mode", cmp.Or(p.Mode, device.ModeStreams)}, {"frame", p.Frame}, {"baud", cmp.Or(p.Serial.Baud, 9600)},
	}
}

// profileRow is a profile in a table.
func profileRow(p device.Profile) []string {
	return []string{p.Name, p.Frame, cmp.Or(p.Mode, device.ModeStreams), fmt.Sprintf("%d baud", cmp.Or(p.Serial.Baud, 9600))}
}

// Run lists the embedded profiles and one's own, and says where those belong.
// What is wrong with one of them goes to standard error.
func (c *profilesListCmd) Run(con *console) error {
	var views []report.Object
	var rows [][]string
	for _, p := range device.Profiles() {
		views, rows = append(views, profileObject(p)), append(rows, append(profileRow(p), p.Title))
	}
	for _, own := range device.OwnProfiles() {
		if own.Err != nil {
			con.say("%v", own.Err)
			continue
		}
		p := own.Profile
		p.Name = own.Name
		views = append(views, append(profileObject(p), given(true, "file", own.File)...))
		rows = append(rows, append(profileRow(p), p.Title+"  "+own.File))
	}
	if c.JSON {
		return con.json(views)
	}
	if err := printTable(con.out, rows); err != nil {
		return err
	}
	if dir, err := device.UserProfileDir(); err == nil {
		con.say("your own profiles belong in %s", dir)
	}
	return nil
}

// findProfile returns the profile of a name or file, and warns where a file of
// one's own by that name is passed over.
func findProfile(con *console, name string) (device.Profile, error) {
	p, _, err := device.FindProfile(name)
	for _, own := range device.OwnProfiles() {
		if err == nil && own.Hidden && own.Name == name {
			con.say("%v", own.Err)
		}
	}
	return p, err
}

type profilesShowCmd struct {
	Name string `arg:"" help:"Name of a profile, or a file."`
	JSON bool   `name:"json" help:"Print one JSON object instead of TOML."`
}

// Run prints the profile.
func (c *profilesShowCmd) Run(con *console) error {
	p, err := findProfile(con, c.Name)
	if c.JSON && err == nil {
		return con.json(profileObject(p))
	}
	_, text, err := device.FindProfile(c.Name) // its comments are what it is copied for
	if err == nil {
		_, err = con.out.Write(text)
	}
	return err
}

type profilesCheckCmd struct {
	File    string `arg:"" help:"Name of a profile, or a file."`
	Capture string `arg:"" optional:"" help:"Captured bytes, as listen --raw keeps them; - for standard input."`
	JSON    bool   `name:"json" help:"Print one JSON object."`
}

// Run loads the profile and decodes the capture with it. A capture without one
// sound reading is not measurable.
func (c *profilesCheckCmd) Run(con *console) error {
	p, err := findProfile(con, c.File)
	if err != nil {
		return err
	}
	var b []byte
	if c.Capture != "" {
		file, err := openInput(con, c.Capture)
		if err != nil {
			return err
		}
		defer file.Close()
		if b, err = io.ReadAll(file); err != nil {
			return err
		}
	}
	found, _ := identify.Check(p, b, 0)
	garbled := found.Broken + found.Ends
	samples := report.Each(found.Samples, func(s identify.Sample) string { return units.Exact(s.Value) + prefixed(" ", s.Unit) })
	if c.JSON {
		err = con.json(report.Object{{"name", p.Name}, {"bytes", len(b)}, {"readings", found.Frames}, {"garbled", garbled},
			{"samples", samples}, {"broken", append([]string{}, found.Faults...)}})
	} else if fmt.Fprintf(con.out, "profile %s is sound\n", p.Name); c.Capture != "" {
		fmt.Fprintf(con.out, "%s: %s, %s\n", count(len(b), "byte"), count(found.Frames, "reading"), count(garbled, "broken frame"))
		for _, s := range samples {
			fmt.Fprintln(con.out, "  "+s)
		}
		for _, b := range found.Faults {
			fmt.Fprintln(con.out, "  broken: "+b)
		}
	}
	return errors.Join(err, outsideIf(c.Capture != "" && found.Frames == 0))
}
