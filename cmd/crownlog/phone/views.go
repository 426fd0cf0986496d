package phone

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"
)

const (
	sendEvery = 33 * time.Millisecond // between two views of one page at most: 30 a second, as on the terminal
	beatEvery = 2 * time.Second       // of an event that says no more than that we are there
)

// views streams the state of the round as server-sent events, each the newest
// there is: a slow page misses some, and is dropped once one takes too long to
// send. Format: WHATWG HTML, 9.2.
func (s *Server) views(w http.ResponseWriter, r *http.Request) {
	page := r.URL.Query().Get("page")
	w.Header().Set("Content-Type", "text/event-stream")
	_ = http.NewResponseController(w).SetReadDeadline(time.Time{}) // else that of the request ends the stream
	from, _, _ := net.SplitHostPort(r.RemoteAddr)
	ctx, gone := context.WithCancel(r.Context())
	defer gone()
	me := &viewer{page, from, gone} // a page without a name never gets the buttons
	if !s.desk.join(me) {
		send(w, "full", nil)
		return
	}
	defer s.desk.leave(me)
	wake, stop := s.cfg.Hub.Watch()
	defer stop()
	beat, pace := time.NewTicker(beatEvery), time.NewTicker(sendEvery)
	defer beat.Stop()
	defer pace.Stop()
	show := func() bool { return send(w, "view", s.state(page)) }
	changed, taken := true, true
	for taken {
		select {
		case <-ctx.Done():
			return
		case <-s.over:
			_ = show() && send(w, "end", nil) // how it came out
			return
		case <-wake:
			changed = true
		case <-beat.C:
			taken = send(w, "beat", nil)
		case <-pace.C:
			if changed {
				taken, changed = show(), false
			}
		}
	}
}

// send writes one event, and reports whether the page took it in time.
func send(w http.ResponseWriter, name string, data any) bool {
	to := http.NewResponseController(w)
	text, err := json.Marshal(data)
	late := to.SetWriteDeadline(time.Now().Add(writeTime))
	_, gone := fmt.Fprintf(w, "event: %s\ndata: %s\n\n", name, text)
	return errors.Join(err, late, gone, to.Flush()) == nil
}
