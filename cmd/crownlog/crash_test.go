package main

import (
	"context"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
)

// crashOnScreen is a program whose dashboard is up when what works beside it
// panics; testdata/script/crash.txtar looks at the terminal it leaves.
func crashOnScreen() {
	err := withScreen(context.Background(), live.NewHub(), dashboard.Source{}, func(context.Context) error {
		time.Sleep(200 * time.Millisecond) // the screen opens meanwhile
		panic("broken round")
	})
	panic(err.Error())
}
