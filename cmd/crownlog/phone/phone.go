// Package phone serves one page on the local network, for a phone or a tablet
// leaning on the housing: it shows the round at work, says it aloud, and brings
// back what its buttons ask and its camera takes. It is one more listener of
// the views that a live.Hub publishes, and knows no more than they say.
package phone

import (
	"context"
	"crypto/rand"
	"embed"
	"errors"
	"net/http"
	"strings"
	"sync"
	"time"

	"golang.org/x/net/netutil"
	"golang.org/x/time/rate"

	"crownlog/cmd/crownlog/live"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// Config says what is served, where and for whom.
type Config struct {
	Hub      *live.Hub
	Address  string            // IP address to listen at, with or without a port; "": a private one of this machine
	ViewOnly bool              // no buttons, no camera
	Next     func(job.Request) // the job is to go on with another round; nil: there is only this one
	Division float64           // one division of the dial in mm, for typed values; 0: not known

	// Tick is the task that ticks an entry of the lists, as live.Session.Tick; nil: it cannot be done here.
	Tick func(name string) func(*logger.Round) error

	// Attach keeps a photo with the job, as journal.Folder.Attach does. It is called from any goroutine, one call at a time.
	Attach func(stage, path, text string, at time.Time) (record.Capture, error)
}

// A Server is the page on the network.
type Server struct {
	cfg   Config
	host  string // what a browser that was given our address sends as Host
	token string
	http  *http.Server
	desk  desk
	rate  *rate.Limiter
	photo sync.Mutex    // held while a photo is being stored
	over  chan struct{} // closed when the program ends
	ended chan error
}

// The limits of what a stranger on the network, or a phone gone wild, may cost.
const (
	mostViewers     = 8
	mostConnections = 64
	perSecond       = 30       // requests of all pages together; a thumb does ten
	mostCommand     = 4 << 10  // bytes
	mostPhoto       = 24 << 20 // bytes; a phone's own file of 50 megapixels has about 20 million
	readTime        = time.Minute
	writeTime       = 5 * time.Second // for one view; who takes longer is dropped
)

//go:embed page
var pages embed.FS

// Start listens and serves until Close. The error says what is wrong with the
// address.
func Start(cfg Config) (*Server, error) {
	listener, err := listen(cfg.Address)
	if err != nil {
		return nil, err
	}
	s := &Server{
		cfg: cfg, host: strings.TrimSuffix(listener.Addr().String(), ":80"), // which browsers leave out
		token: strings.ToLower(rand.Text())[:20], // 100 bits
		desk:  desk{open: !cfg.ViewOnly, changed: cfg.Hub.Poke}, rate: rate.NewLimiter(perSecond, 2*perSecond),
		over: make(chan struct{}), ended: make(chan error, 1),
	}
	s.http = &http.Server{
		Handler: s.guard(s.routes()), MaxHeaderBytes: 16 << 10,
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: readTime, WriteTimeout: readTime + writeTime, IdleTimeout: readTime,
		ErrorLog: quiet,
	}
	go func() { s.ended <- s.http.Serve(netutil.LimitListener(listener, mostConnections)) }()
	return s, nil
}

// routes are what the page asks for, behind the token.
func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /page/", http.FileServerFS(pages))
	mux.HandleFunc("GET /page/views", s.views)
	mux.HandleFunc("POST /page/do", orders(s.do)) // these do nothing for a page without the buttons
	mux.HandleFunc("POST /page/take", orders(func(_ context.Context, o order) error { return s.desk.take(o.Page) }))
	mux.HandleFunc("POST /page/photo", s.keepPhoto)
	return mux
}

// Address is what a phone opens; its token is good for this run alone.
func (s *Server) Address() string { return "http://" + s.host + "/" + s.token + "/" }

// Status says in a few words who watches and who has the buttons, and whether
// any page is open.
func (s *Server) Status() (says string, here bool) { return s.desk.status() }

// Close tells the pages that the program has ended, and stops serving.
func (s *Server) Close() error {
	close(s.over)
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	err := s.http.Shutdown(ctx)
	if errors.Is(err, context.DeadlineExceeded) { // a page that takes nothing more
		err = s.http.Close()
	}
	if served := <-s.ended; !errors.Is(served, http.ErrServerClosed) {
		err = errors.Join(err, served)
	}
	return err
}
