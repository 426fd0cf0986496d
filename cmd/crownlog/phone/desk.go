package phone

import (
	"context"
	"fmt"
	"slices"
	"sync"
)

// A viewer is one page that is open now.
type viewer struct {
	page string // a random name that the page keeps while it is open
	from string // the phone's address
	gone context.CancelFunc
}

// A desk knows which pages are open, and the one page that has the buttons. A
// page that sleeps keeps them until another one takes them.
type desk struct {
	open    bool   // somebody may have the buttons
	changed func() // tells all who show it

	mu      sync.Mutex
	viewers []*viewer
	holder  viewer // its page is "" while nobody has the buttons
}

// join is false where eight others watch. A page that comes back takes the place
// of what is left of itself; the first page gets the buttons.
func (d *desk) join(v *viewer) bool {
	defer d.changed()
	d.mu.Lock()
	defer d.mu.Unlock()
	if i := slices.IndexFunc(d.viewers, func(o *viewer) bool { return o.page == v.page }); i >= 0 {
		d.viewers[i].gone()
		d.viewers = slices.Delete(d.viewers, i, i+1)
	}
	if len(d.viewers) >= mostViewers {
		return false
	}
	d.viewers = append(d.viewers, v)
	if d.open && d.holder.page == "" {
		d.holder = *v
	}
	return true
}

func (d *desk) leave(v *viewer) {
	defer d.changed()
	d.mu.Lock()
	defer d.mu.Unlock()
	d.viewers = slices.DeleteFunc(d.viewers, func(o *viewer) bool { return o == v })
}

// take gives the buttons to a page that is open.
func (d *desk) take(page string) error {
	defer d.changed()
	d.mu.Lock()
	defer d.mu.Unlock()
	i := slices.IndexFunc(d.viewers, func(v *viewer) bool { return v.page == page })
	if i < 0 || !d.open {
		return errClosed
	}
	d.holder = *d.viewers[i]
	return nil
}

// has reports whether a page has the buttons.
func (d *desk) has(page string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return page != "" && d.holder.page == page
}

// control is "mine" for the page that has the buttons, "other" for one that may
// take them, and "none" where nobody has any.
func (d *desk) control(page string) string {
	if d.has(page) {
		return "mine"
	}
	return map[bool]string{true: "other", false: "none"}[d.open]
}

// status says in a few words who watches and who has the buttons; here is false
// while no page is open.
func (d *desk) status() (says string, here bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	says = fmt.Sprintf("phones: %d", len(d.viewers))
	if d.holder.page != "" {
		says += ", buttons: " + d.holder.from
	}
	return says, len(d.viewers) > 0
}
