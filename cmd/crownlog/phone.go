package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/alecthomas/kong"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/cmd/crownlog/phone"
	"crownlog/logger/job"
)

// phoneFlags ask for the page that a phone beside the gear shows.
type phoneFlags struct {
	Phone        phoneMode `help:"Serve a page on the local network for a phone beside the gear: it shows, speaks and has buttons. --phone=view: without buttons." enum:"yes,view," default:""`
	PhoneAddress string    `help:"Address of this machine to serve that page at, with or without a port. Default: a private one." placeholder:"IP[:PORT]"`
}

// phoneMode is "" without a page, "yes" or "view".
type phoneMode string

// IsBool lets the flag stand alone.
func (*phoneMode) IsBool() bool { return true }

// Decode reads --phone or --phone=view.
func (m *phoneMode) Decode(ctx *kong.DecodeContext) error {
	*m = "yes"
	if ctx.Scan.Peek().Type == kong.FlagValueToken {
		*m = phoneMode(fmt.Sprint(ctx.Scan.Pop().Value))
	}
	return nil
}

// phoned reports whether there is to be a page; who names its address wants one.
func (f phoneFlags) phoned() bool { return f.Phone != "" || f.PhoneAddress != "" }

// show runs body with its views on the screen that src describes, nil for plain lines,
// and on a phone's page if that is asked for. next goes on with the job; nil: it does
// not.
func (f phoneFlags) show(ctx context.Context, con *console, hub *live.Hub, folder *job.Folder, next func(job.Request),
	src *dashboard.Source, body func(context.Context) error) (err error) {
	if f.phoned() {
		server, err := phone.Start(phone.Config{
			Hub: hub, Address: f.PhoneAddress, ViewOnly: f.Phone == "view", Next: next, Division: folder.Sheet().Gauge.ResolutionMM,
			Attach: folder.Attach, Tick: (&live.Session{Folder: folder}).Tick,
		})
		if err != nil {
			return usagef("name an address of this machine with --phone-address", "the page for the phone: %w", err)
		}
		code := phone.QR(server.Address())
		if src != nil {
			src.Phone = &dashboard.Phone{Address: server.Address(), Code: code, Status: server.Status}
		} else {
			con.say("on the phone, in the same network, open %s\n%s", server.Address(), strings.Join(code, "\n"))
		}
		run := body
		body = func(ctx context.Context) error { return errors.Join(run(ctx), server.Close()) }
	}
	if src == nil {
		return body(ctx)
	}
	return withScreen(ctx, hub, *src, body)
}
