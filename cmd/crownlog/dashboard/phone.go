package dashboard

// A Phone is the page that a phone beside the gear shows, as the screen tells of
// it.
type Phone struct {
	Address string
	Code    []string                        // the address as a QR code, light modules as blocks
	Status  func() (says string, here bool) // who has the buttons; whether a phone is there
}

// paintPhone covers c with the code to point a phone at. A terminal that cannot
// draw it, or is too small, has the address alone.
func paintPhone(c canvas, p Phone) {
	says, _ := p.Status()
	c.bar("phone · any key goes on, w comes back here", says+" ", inkHeader)
	y := 1
	if !c.ascii && len(p.Code)+3 <= c.h && textWidth(p.Code[0]) <= c.w {
		for _, line := range p.Code {
			c.centre(y, line, inkCode)
			y++
		}
	}
	c.centre(y, p.Address, inkStrong)
	c.centre(y+1, "Point the phone's camera here; it must be in the same network.", inkPlain)
}
