package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// Like is a job sheet for another vehicle: the text of one with v in the place of
// its vehicle, and with every window and ring of bolts marked as copied from that
// one. An axle or an operator that v leaves empty stays. It fails for a sheet that
// does not parse, and for one that is not written a line a key.
func Like(text []byte, v Vehicle) ([]byte, error) {
	want, err := Parse("", text)
	if err != nil {
		return nil, err
	}
	from := want.Vehicle.Label
	v.Axle, v.Operator = cmp.Or(v.Axle, want.Vehicle.Axle), cmp.Or(v.Operator, want.Vehicle.Operator)
	want.Vehicle, want.Windows, want.Bolts = v, slices.Clone(want.Windows), slices.Clone(want.Bolts)
	for i := range want.Windows {
		want.Windows[i].CopiedFrom = from
	}
	for i := range want.Bolts {
		want.Bolts[i].CopiedFrom = from
	}
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
			if table == "window" || table == "bolts" {
				fmt.Fprintf(&b, "copied_from = %s\t# confirm it by this vehicle's manual\n", tomlQuote(from))
			}
		case table == "vehicle" && replaced:
			fmt.Fprintf(&b, "%s = %s\n", key, tomlQuote(value))
		case key != "copied_from":
			b.WriteString(line)
		}
	}
	like := alignComments(b.String())
	if is, err := Parse("", like); err != nil || !reflect.DeepEqual(is, want) {
		return nil, errors.Join(errors.New("copy the sheet: write it a line a key, with its windows and bolts as [[window]] and [[bolts]]"), err)
	}
	return like, nil
}
