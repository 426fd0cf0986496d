package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"strings"
)

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
	own := map[string]string{"label": v.Label, "job": v.Job, "odometer": v.Odometer, "axle": v.Axle, "operator": v.Operator}
	var b strings.Builder
	table := ""
	for line := range strings.Lines(string(text)) {
		key, _, _ := strings.Cut(line, "=")
		key = strings.TrimSpace(key)
		value, replaced := own[key]
		switch {
		case strings.HasPrefix(key, "["):
			table, _, _ = strings.Cut(strings.Trim(key, "[ "), "]")
			b.WriteString(line)
			if table == "vehicle" {
				fmt.Fprintf(&b, "copied_from = %s  # its windows wait to be confirmed for this vehicle\n", tomlQuote(v.CopiedFrom))
			}
		case table == "vehicle" && replaced:
			fmt.Fprintf(&b, "%s = %s\n", key, tomlQuote(value))
		case table != "vehicle" || key != "copied_from":
			b.WriteString(line)
		}
	}
	like := []byte(b.String())
	if is, err := Parse("", like); err != nil || is.Vehicle != v {
		return nil, errors.Join(errors.New("copy the sheet: write its [vehicle] a line a key"), err)
	}
	return like, nil
}
