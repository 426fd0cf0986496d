package main

import (
	"cmp"
	"fmt"
	"slices"

	"crownlog/cmd/crownlog/live"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// gauges says where readings will come from; none where they are typed. On the
// dashboard what no gauge measures is typed, and a contact pattern is drawn.
func (c *measureCmd) gauges(con *console, sheet sheet.Sheet) ([]live.Port, error) {
	switch {
	case c.Keyed && len(c.Port) > 0:
		return nil, usagef("take one of them", "--keyed and --port exclude each other")
	case c.Keyed, record.IsPattern(c.Feature) && c.onScreen(con):
		return c.plug(con, sheet)
	case record.IsPattern(c.Feature):
		return nil, usagef("give --keyed: first along, -1 toe to +1 heel, then up, -1 root to +1 face", "%s is drawn on the dashboard or typed", c.Feature)
	case len(c.Port) == 0:
		return nil, usagef("crownlog ports lists them; --keyed needs none", "no --port given")
	}
	ports, err := c.plug(con, sheet)
	if err == nil && len(live.PortsFor(ports, c.Feature)) == 0 {
		return nil, usagef("choose its profile with --gauge, or type the values with --keyed",
			"%s is not measured in %s, which gauge profile %s sends", record.Title(c.Feature), ports[0].Profile.Unit, ports[0].Profile.Name)
	}
	return ports, err
}

// plug pairs the ports with their profiles. Nothing is opened yet.
func (c *measureCmd) plug(con *console, sheet sheet.Sheet) ([]live.Port, error) {
	if len(c.Gauge) > len(c.Port) {
		return nil, usagef("give --port and --gauge in pairs, in the same order", "%d --gauge for %d --port", len(c.Gauge), len(c.Port))
	}
	var ports []live.Port
	for i, port := range c.Port {
		name, label := "text", ""
		if i == 0 {
			name, label = cmp.Or(sheet.Gauge.Profile, name), c.label(sheet)
		}
		if i < len(c.Gauge) {
			name = c.Gauge[i]
		}
		profile, err := findProfile(con, name)
		if err != nil {
			return nil, err
		}
		for _, p := range ports {
			if err := profile.Beside(p.Profile); err != nil && p.Name == port {
				return nil, usagef("gauges on one port are asked in turn, or told apart by channel",
					"--port %s is given twice, for %s and %s: %v", port, p.Profile.Name, profile.Name, err)
			}
		}
		label = cmp.Or(label, name)
		if slices.ContainsFunc(ports, func(p live.Port) bool { return p.Label == label }) {
			label = fmt.Sprintf("%s %d", label, i+1)
		}
		ports = append(ports, live.Port{Label: label, Name: port, Profile: profile})
	}
	return ports, nil
}

// label is the name readings are kept under.
func (c *measureCmd) label(sheet sheet.Sheet) string {
	return cmp.Or(sheet.Gauge.Label, map[bool]string{true: "keyed", false: "gauge"}[c.Keyed])
}
