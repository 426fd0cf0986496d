package record_test

import (
	"fmt"
	"time"

	"crownlog/logger/record"
)

// A list keeps captures in memory; a job folder keeps them on the disk.
type list []record.Capture

func (l *list) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(*l) + 1
	*l = append(*l, c)
	return c, nil
}

func (l *list) Captures() []record.Capture { return *l }

// A move of the adjusters puts the backlash measured before it out of date, until
// the move is taken back.
func ExampleValid() {
	at := time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC)
	job := new(list)
	backlash := record.Blank(record.StageSetUp, record.FeatureBacklash, at)
	backlash.Position, backlash.Value, backlash.Unit = 1, 0.21, "mm"
	job.Append(backlash)

	move, err := record.AddMove(job, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, at)
	fmt.Println(len(record.Valid(*job, record.StageSetUp, record.FeatureBacklash)), err)
	_, err = record.Reject(job, move.ID, at)
	fmt.Println(len(record.Valid(*job, record.StageSetUp, record.FeatureBacklash)), err)
	fmt.Println(len(*job), "lines, none rewritten")
	// Output:
	// 0 <nil>
	// 1 <nil>
	// 3 lines, none rewritten
}
