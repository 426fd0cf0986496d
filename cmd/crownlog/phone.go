package main

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/alecthomas/kong"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/cmd/crownlog/phone"
	"crownlog/logger/job"
)

// phoneFlags ask for the page that a phone beside the gear shows.
type phoneFlags struct {
	Phone         phoneMode `help:"Serve a page on the local network for a phone beside the gear: it shows, speaks and has buttons. --phone=view: without buttons."`
	PhoneAddress  string    `help:"Address of this machine to serve it at, with or without a port. Default: a private one." placeholder:"IP[:PORT]"`
	PhotoPosition bool      `help:"Keep a photo from the phone as the phone made it, with where it was taken."`
}

// phoneMode is "" without a page, "yes" or "view".
type phoneMode string

// IsBool lets the flag stand alone.
func (*phoneMode) IsBool() bool { return true }

// Decode reads --phone or --phone=view.
func (m *phoneMode) Decode(ctx *kong.DecodeContext) error {
	*m = "yes"
	if ctx.Scan.Peek().Type != kong.FlagValueToken {
		return nil
	}
	if said := fmt.Sprint(ctx.Scan.Pop().Value); said != "view" {
		return fmt.Errorf("--phone=%s: write --phone or --phone=view", said)
	}
	*m = "view"
	return nil
}

// serve starts the page, if it is asked for; end is to be called in any case. What
// comes back is nil without one. next goes on with the job; nil: it does not.
func (f phoneFlags) serve(con *console, hub *live.Hub, folder *job.Folder, next func(job.Request)) (p *dashboard.Phone, end func() error, err error) {
	if f.Phone == "" && !reflect.ValueOf(f).IsZero() {
		return nil, nil, usagef("add --phone", "--phone-address and --photo-position are for the page of --phone")
	}
	if f.Phone == "" {
		return nil, func() error { return nil }, nil
	}
	server, err := phone.Start(phone.Config{
		Hub: hub, Address: f.PhoneAddress, ViewOnly: f.Phone == "view", Next: next, Division: folder.Sheet().Gauge.ResolutionMM,
		Attach: folder.Attach, KeepPosition: f.PhotoPosition,
	})
	if err != nil {
		return nil, nil, usagef("name an address of this machine with --phone-address", "the page for the phone: %w", err)
	}
	if !server.Private() {
		con.say("the page for the phone is at a public address: whoever learns it can use it")
	}
	code, _ := phone.QR(server.Address()) // an address is never too long for one
	return &dashboard.Phone{Address: server.Address(), Code: code, Status: server.Status}, server.Close, nil
}

// tellPhone prints where the page is, for a run without a dashboard.
func tellPhone(con *console, p *dashboard.Phone) {
	if p != nil {
		con.say("on the phone, in the same network, open %s\n%s", p.Address, strings.Join(p.Code, "\n"))
	}
}
