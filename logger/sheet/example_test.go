package sheet_test

import (
	"fmt"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// The window stays in the unit of the manual; what judges asks for it in mm.
func ExampleParse() {
	s, err := sheet.Parse("job.toml", []byte(`
schema = 1
[vehicle]
label = "wagon"
[[window]]
feature = "backlash"
unit = "thou"
lower = 5
upper = 8
`))
	l := s.Window(record.FeatureBacklash).Limits
	fmt.Println(s.PrintedWindow(record.FeatureBacklash), err)
	fmt.Println(l.Lower, "to", l.Upper, l.Unit)
	// Output:
	// 5 to 8 thou <nil>
	// 0.127 to 0.2032 mm
}

// A mistake is told with its place and what may stand there.
func ExampleParse_mistake() {
	_, err := sheet.Parse("job.toml", []byte(`schema = 1
[vehicle]
lable = "wagon"
`))
	fmt.Println(err)
	// Output:
	// job.toml:2:2: vehicle.label: missing; write any name of your own for the vehicle
	// job.toml:3:1: vehicle.lable: unknown key. Allowed here: label, job, axle, odometer, operator, copied_from, checked_by, vin, centre_serial
}

// What is sound may still be odd.
func ExampleSheet_Check() {
	s := sheet.Example()
	s.GearSet.WheelTeeth = 14
	for _, f := range s.Check() {
		fmt.Printf("%s: %s: %s\n", f.Severity, f.Where, f.Text)
	}
	// Output:
	// doubt: gear_set: 11 to 14 teeth is a ratio of 1.27; axles have 2.5 to 8
}
