package phone

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// An order is what a button asks.
type order struct {
	Page string
	Do   string // one of the buttons of the state
	Text string // typed
	Seen string // the mark of the view that the button stood under
}

// answerTime is how long a button waits for the round, which may wait for a disk.
const answerTime = 2 * time.Second

// What a button is told when it did nothing.
var (
	errMovedOn  = errors.New("the round has moved on since: look, and press again")
	errNoAnswer = errors.New("the laptop does not answer: nothing was done")
	errOther    = errors.New("another phone has the buttons")
	errClosed   = errors.New("this page is not open any more: load it again")
	errNoOrder  = errors.New("that is no order of this page")
)

// refuse answers that nothing was done, and why.
func refuse(w http.ResponseWriter, why error) {
	http.Error(w, feature.Capitalise(why.Error())+".", http.StatusConflict)
}

// commands are the buttons that a round knows as they are.
var commands = []logger.Command{
	logger.CmdNext, logger.CmdBack, logger.CmdRetry, logger.CmdCapture, logger.CmdUndo, logger.CmdPause, logger.CmdClick,
}

// orders hands what a page asks to do, and says what is refused.
func orders(do func(ctx context.Context, o order) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var o order
		if json.NewDecoder(http.MaxBytesReader(w, r.Body, mostCommand)).Decode(&o) != nil {
			refuse(w, errNoOrder)
		} else if err := do(r.Context(), o); err != nil {
			refuse(w, err)
		}
	}
}

// do passes on what a button asks, from the page that has the buttons.
func (s *Server) do(ctx context.Context, o order) error {
	if !s.desk.has(o.Page) {
		return errOther
	}
	task, err := s.taskOf(o)
	if err != nil {
		return err
	}
	return s.ask(ctx, task)
}

// taskOf is an order as a task for the round. It does nothing where the round is
// not as the page showed it: two presses at one bolt must not count as two bolts.
func (s *Server) taskOf(o order) (func(*logger.Round) error, error) {
	var do []logger.Command
	var next *job.Request
	switch v := s.cfg.Hub.Latest(); {
	case o.Do == "onward" || o.Do == "anew" || o.Do == "moved":
		if next = requestOf(o.Do, v); next == nil || s.cfg.Next == nil {
			return nil, errMovedOn
		}
	case o.Do == "typed":
		values, err := feature.ParseTyped(v.Feature, o.Text, s.cfg.Division)
		if err != nil {
			return nil, err
		}
		for _, k := range values {
			do = append(do, logger.CmdKeyed(k.Value, k.Unit))
		}
	case o.Do == "pass":
		if v.State != logger.StateHeld {
			return nil, errMovedOn
		}
		reason := strings.Join(strings.Fields(o.Text), " ")
		if err := record.CheckReason(reason); err != nil {
			return nil, err
		}
		do = append(do, logger.CmdOverride(reason))
	case o.Do == "tick" && s.cfg.Tick != nil:
		tick := s.cfg.Tick(o.Text)
		return func(r *logger.Round) error {
			if v := r.View(); o.Text == "" || o.Text != v.Tick.Name || o.Seen != mark(v) {
				return errMovedOn
			}
			return tick(r)
		}, nil
	case slices.Contains(commands, logger.Command(o.Do)):
		do = append(do, logger.Command(o.Do))
	default:
		return nil, errNoOrder
	}
	return func(r *logger.Round) error {
		if o.Do != "pause" && o.Seen != mark(r.View()) {
			return errMovedOn
		}
		if next != nil {
			s.cfg.Next(*next)
		}
		for _, c := range do {
			if err := r.Command(c); err != nil {
				return err
			}
		}
		return nil
	}, nil
}

// requestOf is how the job goes on from a finished round; nil: it does not.
func requestOf(do string, v logger.View) *job.Request {
	switch {
	case v.State != logger.StateDone:
	case do == "onward":
		return &job.Request{}
	case do == "anew":
		return &job.Request{Stage: v.Stage, Feature: v.Feature, Again: true}
	case advised(v.Move) != 0:
		return &job.Request{Moved: job.AsAdvised(*v.Move)}
	}
	return nil
}

// ask hands a task to the round and waits for what became of it. A task that is
// not taken up in time is not done later either.
func (s *Server) ask(ctx context.Context, task func(*logger.Round) error) error {
	var claimed atomic.Bool // by the round, or by us who give up
	answer := make(chan error, 1)
	s.cfg.Hub.Do(func(r *logger.Round) error {
		if !claimed.CompareAndSwap(false, true) {
			return nil
		}
		err := task(r)
		answer <- err
		if errors.Is(err, errMovedOn) {
			return nil
		}
		return err // which ends the round, as it does for a key
	})
	ctx, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	select {
	case err := <-answer:
		return err
	case <-ctx.Done():
		if claimed.CompareAndSwap(false, true) {
			return errNoAnswer
		}
		return <-answer // it is at work
	}
}

// mark names what a view stands at, so that a button says what it was pressed
// for. Readings may come and go.
func mark(v logger.View) string {
	return fmt.Sprintf("%s %s %d %d %d %t", v.Stage, v.Feature, v.Current, v.Stored, v.Bell, v.State == logger.StateDone)
}
