package job

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A Check is an entry of the sheet's lists.
type Check struct {
	sheet.Check
	Tick record.Capture // of who saw to it, as long as no work on the axle undid it; its ID is 0 where it is not ticked
}

// Checks are the entries of the sheet's lists in its order, in front of them that
// windows copied from another vehicle are those of this one.
func (j Job) Checks() []Check {
	entries := j.Sheet.Checks
	if from := j.Sheet.Vehicle.CopiedFrom; from != "" {
		entries = append([]sheet.Check{{Name: sheet.CheckCopied, Stage: j.Sheet.StageList()[0], Required: true,
			What: fmt.Sprintf("windows and torques, copied from %s, confirmed for this vehicle by its manual", from)}}, entries...)
	}
	list := make([]Check, len(entries))
	for i, c := range entries {
		list[i].Check = c
		for _, tick := range record.Valid(j.Captures, c.Stage, record.FeatureCheck) {
			if tick.Hold == c.Name && strings.HasPrefix(tick.Note, c.What) { // of the words it was given for
				list[i].Tick = tick
			}
		}
	}
	return list
}

// Check finds an entry of the lists by its name; the error says which there are.
func (j Job) Check(name string) (Check, error) {
	var names []string
	for _, c := range j.Checks() {
		if c.Name == name {
			return c, nil
		}
		names = append(names, c.Name)
	}
	return Check{}, fmt.Errorf("no check %q: want one of %s", name, strings.Join(names, ", "))
}

// TickOff records that somebody saw to it. note may be empty, but for copied
// windows: of them it is the page of this vehicle's manual.
func (c Check) TickOff(st record.Store, note string, at time.Time) (record.Capture, error) {
	if note = strings.TrimSpace(note); note == "" && c.Name == sheet.CheckCopied {
		return record.Capture{}, fmt.Errorf("%s: name the page of this vehicle's manual in the note", c.Name)
	}
	return record.AddCheck(st, c.Stage, c.Name, record.Fronted(c.What, "; ", note), at)
}

// lists are the lists of the stages that have a name or a place of their own: their
// hold points, and what waits for them.
var lists = map[string]HoldPoint{
	record.StageAsFound: {Name: "strip-list", Before: beforeStrip},
	record.StageFitUp:   {Name: "fit-up-list", Before: beforeLocker},
	record.StageBench:   {Name: "bench-list", Before: beforeSetting},
	record.StageFinal:   {Name: "fit-list", Before: beforeClosing},
}

// listHolds are the hold points of the lists, one each, and of copied windows: what
// is required and not ticked.
func (j Job) listHolds() (points []HoldPoint) {
	for _, c := range j.Checks() {
		if !c.Required {
			continue
		}
		h := lists[c.Stage]
		h.Name, h.Before = cmp.Or(h.Name, c.Stage+"-list"), cmp.Or(h.Before, beforeClosing)
		if c.Name == sheet.CheckCopied {
			h = HoldPoint{Name: c.Name, Before: beforeMeasuring}
		}
		h.Stage, h.Feature = c.Stage, record.FeatureCheck
		i := slices.IndexFunc(points, func(o HoldPoint) bool { return o.Name == h.Name })
		if i < 0 {
			i, points = len(points), append(points, h)
		}
		if c.Tick.ID == 0 {
			points[i].Unticked = append(points[i].Unticked, c)
		}
	}
	for i, h := range points {
		var names []string
		for _, c := range h.Unticked {
			names = append(names, c.Name)
		}
		open := fmt.Sprintf("Do not %s yet: not ticked: %s (job tick).", notYet[h.Before], strings.Join(names, ", "))
		switch {
		case len(names) == 0:
			open = ""
		case h.Name == sheet.CheckCopied:
			h.Unticked = nil
			open = fmt.Sprintf("Do not measure yet: the windows are copied from %s. Confirmed for this vehicle? "+
				"(job tick, with the page of its manual)", j.Sheet.Vehicle.CopiedFrom)
		}
		points[i] = j.skipped(h, open, feature.Assessment{})
	}
	return points
}

// ToTick is the entry of the lists among holds that is to be ticked next; its Name is
// "" where they want none.
func ToTick(holds []HoldPoint) Check {
	for _, h := range holds {
		if h.Blocking && len(h.Unticked) > 0 {
			return h.Unticked[0]
		}
	}
	return Check{}
}

// NotDone reports whether the hold point is of a list that nobody went through.
func (h HoldPoint) NotDone() bool { return h.Blocking && h.Feature == record.FeatureCheck }

// CheckSheet is Sheet.Check with what a list of stages of one's own does to the
// steps and the hold points of the job in front.
func CheckSheet(s sheet.Sheet) []sheet.Finding {
	var found []sheet.Finding
	add := func(severity sheet.Severity, format string, args ...any) {
		found = append(found, sheet.Finding{Severity: severity, Where: "stages", Text: fmt.Sprintf(format, args...)})
	}
	usualStages := append(sheet.Sheet{}.StageList(), record.StageFitUp)
	j := Job{Sheet: s}
	for _, name := range s.StageList() {
		if _, usual := stageSteps[name]; !usual {
			add(sheet.Advice, "%q is a stage of your own: only the backlash is asked for in it; the usual ones are %s", name, strings.Join(usualStages, ", "))
		}
	}
	if !j.hasStage(record.StageAsFound) {
		add(sheet.Warning, "the hold point %s falls away, because its stage is not listed", HoldAsFound)
	}
	if j.closingStage() < 0 {
		add(sheet.Warning, "nothing waits for closing up, because neither %s nor %s is listed", record.StageCaps, record.StageFinal)
	}
	return append(found, s.Check()...)
}
