package main

import (
	"fmt"
	"slices"
	"time"

	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger"
)

// A gaugePort is a gauge on a port, as the command line names it.
type gaugePort struct {
	label   string
	port    string
	profile device.Profile
}

// plug pairs the ports with their profiles. Nothing is opened yet.
func (c *measureCmd) plug(con *console, sheet logger.Sheet) ([]gaugePort, error) {
	if len(c.Gauge) > len(c.Port) {
		return nil, usagef("give --port and --gauge in pairs, in the same order", "%d --gauge for %d --port", len(c.Gauge), len(c.Port))
	}
	var plugs []gaugePort
	for i, port := range c.Port {
		if slices.ContainsFunc(plugs, func(p gaugePort) bool { return p.port == port }) {
			return nil, usagef("one gauge, one port", "--port %s is given twice", port)
		}
		name := "text"
		switch {
		case i < len(c.Gauge):
			name = c.Gauge[i]
		case i == 0 && sheet.Gauge.Profile != "":
			name = sheet.Gauge.Profile
		}
		profile, err := findProfile(con, name)
		if err != nil {
			return nil, err
		}
		label := name
		if i == 0 {
			label = c.label(sheet)
		}
		if slices.ContainsFunc(plugs, func(p gaugePort) bool { return p.label == label }) {
			label = fmt.Sprintf("%s %d", label, i+1)
		}
		plugs = append(plugs, gaugePort{label: label, port: port, profile: profile})
	}
	return plugs, nil
}

// source is the gauge at work.
func (p gaugePort) source() source {
	return device.NewGauge(p.label, p.profile, device.SerialOpener(p.port, p.profile.Serial), time.Now)
}

// gaugesFor picks the gauges a feature is measured with: the first that reads
// in a unit of it, else the first that names its units itself. A thermometer
// goes with an air test. None: the feature is keyed.
func gaugesFor(plugs []gaugePort, feature string) []gaugePort {
	first := func(fits func(unit string) bool) int {
		return slices.IndexFunc(plugs, func(p gaugePort) bool { return fits(p.profile.Unit) })
	}
	i := first(func(unit string) bool { return unit != "" && logger.ReadIn(feature, unit) })
	if i < 0 {
		i = first(func(unit string) bool { return unit == "" && logger.ReadIn(feature, "") })
	}
	if i < 0 {
		return nil
	}
	chosen := []gaugePort{plugs[i]}
	if k := first(isTemperature); k >= 0 && feature == logger.FeatureLeakDown {
		chosen = append(chosen, plugs[k])
	}
	return chosen
}

func isTemperature(unit string) bool {
	quantity, _, err := units.Canonical(unit)
	return err == nil && quantity == "temperature"
}

// labels are the names of gauges.
func labels(plugs []gaugePort) []string {
	names := make([]string, 0, len(plugs))
	for _, p := range plugs {
		names = append(names, p.label)
	}
	return names
}

// resolution is the gauge's smallest step in the unit that rounds compute in:
// mm, N·m or kPa; 0 where the profile does not say.
func (p gaugePort) resolution() float64 {
	_, base, err := units.Canonical(p.profile.Unit)
	if err != nil {
		return 0
	}
	step, err := units.Convert(p.profile.Resolution, p.profile.Unit, base)
	if err != nil {
		return 0
	}
	return step
}
