package export_test

import (
	"fmt"
	"strings"
	"time"

	"crownlog/logger/export"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A trace of another program, with semicolons and decimal commas.
func ExampleImporter() {
	file := strings.NewReader("Zeit;Weg\n0,00;0,012\n0,01;0,183\n")
	im, err := export.NewImporter("trace.csv", file, export.Mapping{Time: "zeit", Value: "weg", DefaultUnit: "mm"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for row, err := range im.Rows() {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(row.T, row.Value, row.Unit)
	}
	// Output:
	// 0 0.012 mm
	// 0.01 0.183 mm
}

func ExampleWriteRecordCSV() {
	c := record.Blank(record.StageFinal, record.FeatureBacklash, time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC))
	c.ID, c.Position, c.AngleDeg, c.Value, c.Unit, c.U, c.N = 1, 1, 0, 0.171, "mm", 0.002, 3
	c.Convention, c.RadiusMM = "normal", 106
	c.Note = "=not a formula"
	var file strings.Builder
	err := export.WriteRecordCSV(&file, sheet.Example(), []record.Capture{c})
	for line := range strings.SplitSeq(file.String(), "\r\n") {
		fmt.Println(line)
	}
	fmt.Println(err)
	// Output:
	// vehicle,job,stage,feature,position,angle_deg,value,unit,lower,upper,expanded_uncertainty,verdict,rocks,repeatability,time,gauge,note,pass
	// Example wagon (invented data),example,final,backlash,1,0,0.1710,mm,0.13,0.2,0.0040,inside,3,,2026-03-04T09:30:00Z,,'=not a formula,
	// Example wagon (invented data),example,final,not-measured,0,,,,,,,,,,2026-03-04T09:30:00Z,,"backlash (as-found), run-out of the carrier flange, run-out of the back face, crown wheel bolts, backlash (set-up), contact pattern, bearing cap bolts, backlash (caps-torqued), total preload, backlash (final), air test, engagement of the lock, closing up",
	//
	// <nil>
}
