package sheet

import (
	"cmp"
	"errors"
	"regexp"
	"strings"
)

// vehicleTable is the table of a sheet's vehicle, and the part below its heading.
var vehicleTable = regexp.MustCompile(`(?m)^\[vehicle\].*\n((?:[^\[].*\n|\n)*)`)

// Like is a job sheet for another vehicle: the text of one with v in the place of
// its vehicle, and where it was copied from. An axle or an operator that v leaves
// empty stays. It fails for a sheet that does not parse, and for one whose vehicle is
// not written a line a key.
func Like(text []byte, v Vehicle) ([]byte, error) {
	was, err := Parse("", text)
	if err != nil {
		return nil, err
	}
	v.Axle, v.Operator, v.CopiedFrom = cmp.Or(v.Axle, was.Vehicle.Axle), cmp.Or(v.Operator, was.Vehicle.Operator), was.Vehicle.Label
	like := vehicleTable.ReplaceAllStringFunc(string(text), func(table string) string {
		if was.Vehicle.CopiedFrom == "" {
			table = strings.Replace(table, "\n", "\ncopied_from = \"\"\n", 1)
		}
		for _, own := range [][2]string{{"label", v.Label}, {"job", v.Job}, {"odometer", v.Odometer}, {"axle", v.Axle}, {"operator", v.Operator}, {"copied_from", v.CopiedFrom}} {
			table = regexp.MustCompile(`(?m)^`+own[0]+` *=.*$`).ReplaceAllLiteralString(table, own[0]+" = "+tomlQuote(own[1]))
		}
		return table
	})
	if is, err := Parse("", []byte(like)); err != nil || is.Vehicle != v {
		return nil, errors.Join(errors.New("copy the sheet: write its [vehicle] a line a key"), err)
	}
	return []byte(like), nil
}
