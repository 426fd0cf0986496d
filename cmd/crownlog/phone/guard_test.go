package phone

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"crownlog/cmd/crownlog/live"
	"crownlog/logger"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// open starts a server on this machine alone, for a hub with one view.
func open(t *testing.T, cfg Config) *Server {
	t.Helper()
	if cfg.Hub == nil {
		cfg.Hub = live.NewHub()
		cfg.Hub.Publish(logger.View{Vehicle: "test axle", Current: -1, Reading: math.NaN()})
	}
	cfg.Address = "127.0.0.1"
	s, err := Start(cfg)
	require.NoError(t, err)
	t.Cleanup(func() {
		http.DefaultClient.CloseIdleConnections()
		assert.NoError(t, s.Close())
	})
	return s
}

// request sends one request as a browser at our address would, changed by change.
func request(t *testing.T, s *Server, method, path, body string, change func(*http.Request)) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequest(method, s.Address()+path, strings.NewReader(body))
	require.NoError(t, err)
	if method == http.MethodPost {
		r.Header.Set("Origin", "http://"+s.host)
	}
	if change != nil {
		change(r)
	}
	resp, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	return resp, string(text)
}

func TestStrangersGetNothing(t *testing.T) {
	s := open(t, Config{})
	for name, c := range map[string]struct {
		method, path string
		change       func(*http.Request)
	}{
		"no token":             {"GET", "", func(r *http.Request) { r.URL.Path = "/" }},
		"token without slash":  {"GET", "", func(r *http.Request) { r.URL.Path = strings.TrimSuffix(r.URL.Path, "/") }},
		"wrong token":          {"GET", "", func(r *http.Request) { r.URL.Path = "/" + strings.Repeat("a", 20) + "/" }},
		"part of the token":    {"GET", "", func(r *http.Request) { r.URL.Path = r.URL.Path[:10] + "/" }},
		"views, wrong token":   {"GET", "", func(r *http.Request) { r.URL.Path = "/aaaa/views" }},
		"another host":         {"GET", "", func(r *http.Request) { r.Host = "rebound.example" }},
		"host without port":    {"GET", "", func(r *http.Request) { r.Host = "127.0.0.1" }},
		"foreign origin, read": {"GET", "views?page=0123456789", func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") }},
		"foreign origin":       {"POST", "do", func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") }},
		"origin null":          {"POST", "do", func(r *http.Request) { r.Header.Set("Origin", "null") }},
		"origin of https":      {"POST", "do", func(r *http.Request) { r.Header.Set("Origin", "https://"+r.Host) }},
		"no origin":            {"POST", "do", func(r *http.Request) { r.Header.Del("Origin") }},
		"photo, no origin":     {"POST", "photo", func(r *http.Request) { r.Header.Del("Origin") }},
	} {
		t.Run(name, func(t *testing.T) {
			resp, body := request(t, s, c.method, c.path, "{}", c.change)
			assert.Equal(t, http.StatusForbidden, resp.StatusCode)
			assert.Empty(t, body)
			assert.Empty(t, resp.Header.Get("Content-Type"))
		})
	}
}

func TestPageComesAloneAndLeavesNothing(t *testing.T) {
	s := open(t, Config{})
	for _, path := range []string{"", "page.js", "voice.en.js", "page.css", "icon.svg"} {
		resp, body := request(t, s, "GET", path, "", nil)
		assert.Equal(t, http.StatusOK, resp.StatusCode, path)
		assert.Contains(t, resp.Header.Get("Content-Security-Policy"), "default-src 'none'")
		assert.NotContains(t, resp.Header.Get("Content-Security-Policy"), "unsafe")
		assert.Equal(t, "no-store", resp.Header.Get("Cache-Control"))
		assert.Equal(t, "no-referrer", resp.Header.Get("Referrer-Policy"))
		assert.Equal(t, "nosniff", resp.Header.Get("X-Content-Type-Options"))
		assert.Empty(t, resp.Header.Values("Set-Cookie"))
		assert.Empty(t, resp.Header.Values("Access-Control-Allow-Origin"))
		body = strings.ReplaceAll(body, `"http://www.w3.org/2000/svg"`, "") // a name, fetched by nobody
		body = strings.ReplaceAll(body, `'http://www.w3.org/2000/svg'`, "")
		assert.NotContains(t, body, "://", "%s names an address outside", path)
		assert.NotContains(t, body, "cookie")
	}
	resp, _ := request(t, s, "GET", "../../etc/passwd", "", nil)
	assert.NotEqual(t, http.StatusOK, resp.StatusCode)
}

func TestTokenIsOfOneRun(t *testing.T) {
	a, b := open(t, Config{}), open(t, Config{})
	assert.NotEqual(t, a.token, b.token)
	assert.Len(t, a.token, 20)
	resp, _ := request(t, b, "GET", "", "", func(r *http.Request) { r.URL.Path = "/" + a.token + "/" })
	assert.Equal(t, http.StatusForbidden, resp.StatusCode)
}

func TestRequestsAreLimited(t *testing.T) {
	s := open(t, Config{})
	s.rate.SetLimit(0) // none comes back while the test lasts
	limited := 0
	for range 2*perSecond + 3 {
		if resp, _ := request(t, s, "GET", "icon.svg", "", nil); resp.StatusCode == http.StatusTooManyRequests {
			limited++
		}
	}
	assert.Equal(t, 3, limited)
	resp, _ := request(t, s, "GET", "", "", func(r *http.Request) { r.URL.Path = "/wrong/" })
	assert.Equal(t, http.StatusForbidden, resp.StatusCode, "who is limited is told so only with the token")
}

func TestOrdersAreShort(t *testing.T) {
	s := open(t, Config{})
	for name, body := range map[string]string{
		"too long": `{"page":"` + strings.Repeat("x", mostCommand) + `"}`, "no order": "what", "empty": "",
	} {
		resp, _ := request(t, s, "POST", "do", body, nil)
		assert.Equal(t, http.StatusConflict, resp.StatusCode, name)
	}
}

func TestPhoneThatOnlyWatchesHasNoButtons(t *testing.T) {
	s := open(t, Config{ViewOnly: true})
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	assert.Equal(t, "none", watch(t, ctx, s, "0123456789").view().Control)
	for _, path := range []string{"do", "take", "photo"} {
		resp, _ := request(t, s, "POST", path+"?page=0123456789", `{"page":"0123456789"}`, nil)
		assert.Equal(t, http.StatusConflict, resp.StatusCode, path)
	}
}

// A watching page, without a browser.
type watching struct {
	t     *testing.T
	lines *bufio.Scanner
}

// watch opens the stream of views of a page, which lasts as long as ctx.
func watch(t *testing.T, ctx context.Context, s *Server, page string) watching {
	t.Helper()
	r, err := http.NewRequestWithContext(ctx, "GET", s.Address()+"views?page="+page, nil)
	require.NoError(t, err)
	resp, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, resp.StatusCode)
	t.Cleanup(func() { resp.Body.Close() })
	lines := bufio.NewScanner(resp.Body)
	lines.Buffer(nil, 4<<20)
	return watching{t, lines}
}

// event is the name and the data of the next event; "" at the end of the stream.
func (w watching) event() (name, data string) {
	for w.lines.Scan() {
		text := w.lines.Text()
		if n, ok := strings.CutPrefix(text, "event: "); ok {
			name = n
		} else if d, ok := strings.CutPrefix(text, "data: "); ok {
			return name, d
		}
	}
	return "", ""
}

// view is the next view.
func (w watching) view() state {
	w.t.Helper()
	for {
		name, data := w.event()
		require.NotEmpty(w.t, name, "the stream ended")
		if name == "view" {
			var s state
			require.NoError(w.t, json.Unmarshal([]byte(data), &s))
			return s
		}
	}
}

func TestNinthPageIsTurnedAwayUntilOneGoes(t *testing.T) {
	s := open(t, Config{})
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	first, leave := context.WithCancel(ctx)
	for i := range mostViewers {
		of := ctx
		if i == 0 {
			of = first
		}
		watch(t, of, s, fmt.Sprintf("page-000%d", i)).view()
	}
	name, _ := watch(t, ctx, s, "page-0009").event()
	assert.Equal(t, "full", name)
	watch(t, ctx, s, "page-0003").view() // a page that comes back is no ninth
	leave()
	require.Eventually(t, func() bool {
		name, _ := watch(t, ctx, s, "page-0009").event()
		return name == "view"
	}, 5*time.Second, 20*time.Millisecond)
}

func TestPagesAreToldWhenTheProgramEnds(t *testing.T) {
	hub := live.NewHub()
	s, err := Start(Config{Hub: hub, Address: "127.0.0.1"})
	require.NoError(t, err)
	w := watch(t, t.Context(), s, "0123456789")
	w.view()
	require.NoError(t, s.Close())
	name, _ := w.event()
	for name == "view" { // that it joined itself is one more
		name, _ = w.event()
	}
	assert.Equal(t, "end", name)
	http.DefaultClient.CloseIdleConnections()
}

// A page that takes nothing any more is dropped, and nobody waits for it: neither
// who publishes nor the page beside it.
func TestSlowPageIsDropped(t *testing.T) {
	if testing.Short() {
		t.Skip("takes as long as a write may")
	}
	hub := live.NewHub()
	s := open(t, Config{Hub: hub})
	slow, err := net.Dial("tcp", s.host)
	require.NoError(t, err)
	defer slow.Close()
	require.NoError(t, slow.(*net.TCPConn).SetReadBuffer(4096))
	fmt.Fprintf(slow, "GET /%s/views?page=slow-page HTTP/1.1\r\nHost: %s\r\n\r\n", s.token, s.host)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	quick := watch(t, ctx, s, "quick-page")
	began := time.Now()
	var longest time.Duration
	seen, newest := 0, -1
	for i := 0; ; i++ { // a megabyte a view fills what the system holds for the slow one
		before := time.Now()
		hub.Publish(logger.View{Vehicle: strings.Repeat("x", 1<<20), Stored: i, Current: -1})
		longest = max(longest, time.Since(before))
		if v := quick.view().Stored; v > newest {
			seen, newest = seen+1, v
		}
		if says, _ := s.Status(); i > 10 && strings.HasPrefix(says, "phones: 1,") {
			break
		}
		require.Less(t, time.Since(began), 4*writeTime, "the slow page was never dropped")
	}
	assert.Less(t, longest, writeTime/10, "publishing waited")
	assert.Greater(t, seen, 10)
}

func TestAddresses(t *testing.T) {
	for in, want := range map[string]string{
		"127.0.0.1": "127.0.0.1:0", "127.0.0.1:8099": "127.0.0.1:8099", "::1": "[::1]:0", "[::1]:80": "[::1]:80",
	} {
		got, err := parseAddress(in)
		require.NoError(t, err, in)
		assert.Equal(t, want, got.String())
	}
	for _, in := range []string{"0.0.0.0", "::", "0.0.0.0:80", "workshop.example", "192.168.1", "224.0.0.1", "127.0.0.1:99999", "fe80::1%eth0"} {
		_, err := parseAddress(in)
		assert.ErrorContains(t, err, "is not one address of this machine", in)
	}
}

func TestAddressOfItselfIsPrivate(t *testing.T) {
	at := privateAddress()
	if at == "" {
		t.Skip("no network here")
	}
	assert.True(t, net.ParseIP(at).IsPrivate(), at)
}
