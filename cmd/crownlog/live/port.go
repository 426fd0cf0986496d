package live

import (
	"slices"
	"time"

	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// A Port is a gauge on a serial port. Nothing is opened before its Source runs.
type Port struct {
	Label   string // of its readings, unlike that of any other
	Name    string // of the serial port
	Profile device.Profile
	Open    device.Opener // nil: as PortOpener opens the name
}

// Sources are the gauges at work, one for each port: those on one take turns at it.
func Sources(ports []Port) []Source {
	var sources []Source
	plugged := map[string]*device.Gauge{}
	for _, p := range ports {
		profile := p.Profile.On(p.Name)
		if g := plugged[p.Name]; g != nil {
			g.Add(p.Label, profile)
			continue
		}
		open := p.Open
		if open == nil {
			open = device.PortOpener(p.Name, profile.Serial)
		}
		plugged[p.Name] = device.NewGauge(p.Label, profile, open, time.Now)
		sources = append(sources, plugged[p.Name])
	}
	return sources
}

// PortsFor picks the gauges a feature is measured with: the first that reads
// in a unit of it, else the first that names its units itself. A thermometer
// goes with an air test. None: the feature is keyed.
func PortsFor(ports []Port, name string) []Port {
	first := func(fits func(unit string) bool) int {
		return slices.IndexFunc(ports, func(p Port) bool { return fits(p.Profile.Unit) })
	}
	i := first(func(unit string) bool { return unit != "" && feature.ReadIn(name, unit) })
	if i < 0 {
		i = first(func(unit string) bool { return unit == "" && feature.ReadIn(name, "") })
	}
	if i < 0 {
		return nil
	}
	chosen := []Port{ports[i]}
	isTemperature := func(unit string) bool {
		quantity, _, _ := units.Canonical(unit)
		return quantity == "temperature"
	}
	if k := first(isTemperature); k >= 0 && name == record.FeatureLeakDown {
		chosen = append(chosen, ports[k])
	}
	return chosen
}

// resolution is the gauge's smallest step in the unit that rounds compute in:
// mm, N·m or kPa; 0 where the profile does not say.
func (p Port) resolution() float64 {
	_, base, _ := units.Canonical(p.Profile.Unit) // of an unknown unit there is no base to convert to
	step, _ := units.Convert(p.Profile.Resolution, p.Profile.Unit, base)
	return step
}
