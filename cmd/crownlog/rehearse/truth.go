package rehearse

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"
)

// A truth is a backlash that was measured, in mm, with what the bench knows.
type truth struct {
	stage, place     string
	measured, actual float64
}

// closeEnough is what a backlash of a rehearsal may be off, in mm.
const closeEnough = 0.010

// printTruths prints what was measured beside the truth and returns the worst
// difference in mm.
func printTruths(w io.Writer, truths []truth) (worst float64) {
	fmt.Fprintln(w, "\nBacklash as measured beside what the bench knows, in mm:")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "stage\tplace\tmeasured\ttruth\tdifference\t")
	for _, b := range truths {
		diff := b.measured - b.actual
		worst = math.Max(worst, math.Abs(diff))
		fmt.Fprintf(t, "%s\t%s\t%.4f\t%.4f\t%+.4f\t\n", b.stage, b.place, b.measured, b.actual, diff)
	}
	t.Flush()
	fmt.Fprintf(w, "%d values, worst difference %.4f mm (limit %.3f)\n", len(truths), worst, closeEnough)
	return worst
}
