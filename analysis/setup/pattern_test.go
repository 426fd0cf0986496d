package setup

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Source: gear-set makers' setting sheets and axle handbooks (common practice).
func TestContactAdvice(t *testing.T) {
	at := func(along, up float64) Contact { return Contact{along, up} }
	for _, c := range []struct {
		name         string
		drive, coast Contact
		form         string
		free         bool
		accept, stop bool
		wheel, pin   int
	}{
		{"central", at(0.1, 0), at(-0.1, 0.1), FormTapered, false, true, false, 0, 0},
		{"toe both", at(-0.6, 0), at(-0.5, 0), FormTapered, false, false, false, -1, 0},
		{"toe to centre", at(-0.4, 0), at(-0.3, 0.1), FormUnknown, false, true, false, 0, 0},
		{"toe to centre on one flank", at(-0.4, 0), at(-0.51, 0), FormTapered, false, false, false, -1, 0},
		{"toe both, unknown form", at(-0.6, 0), at(-0.5, 0), FormUnknown, true, false, false, 0, 0},
		{"toe both, uniform", at(-0.6, 0), at(-0.5, 0), FormUniform, false, false, false, 0, 0},
		{"heel both, uniform", at(0.6, 0), at(0.5, 0), FormUniform, false, false, false, 0, 0},
		{"heel to centre", at(0.4, 0), at(0.3, 0), FormTapered, false, false, false, 1, 0},
		{"heel both", at(0.6, 0), at(0.5, 0), FormTapered, false, false, false, 1, 0},
		{"face both", at(0, 0.6), at(0, 0.6), FormTapered, true, false, false, 0, 1},
		{"face both, locked", at(0, 0.6), at(0, 0.6), FormTapered, false, false, true, 0, 0},
		{"face both, unknown form", at(0, 0.6), at(0, 0.6), FormUnknown, true, false, false, 0, 0},
		{"root both", at(0, -0.6), at(0, -0.6), FormUniform, true, false, false, 0, -1},
		{"root both, locked", at(0, -0.6), at(0, -0.6), FormUniform, false, false, true, 0, 0},
		{"heel-face and toe-face", at(0.6, 0.6), at(-0.6, 0.6), FormTapered, true, false, false, 0, 1},
		{"toe-root and heel-root", at(-0.6, -0.6), at(0.6, -0.6), FormTapered, true, false, false, 0, -1},
		{"toe and heel, uniform", at(-0.6, 0), at(0.6, 0), FormUniform, false, true, false, 0, 0},
		{"toe and heel off the edge", at(-0.9, 0), at(0.6, 0), FormUniform, false, false, true, 0, 0},
		{"face on one flank only", at(0, 0.6), at(0, 0), FormTapered, true, false, false, 0, 0},
		{"face and root", at(0, 0.6), at(0, -0.6), FormTapered, false, false, true, 0, 0},
		{"not entered", at(math.NaN(), 0), at(0, 0), FormTapered, true, false, false, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := ContactAdvice(c.drive, c.coast, c.form, c.free)
			assert.Equal(t, c.accept, a.Accept, a.Seen)
			assert.Equal(t, c.stop, a.Stop, a.Seen)
			assert.Equal(t, c.wheel, a.CrownWheel, a.Seen)
			assert.Equal(t, c.pin, a.Pinion, a.Seen)
			assert.NotEmpty(t, a.Seen)
		})
	}
}

func TestPinionNeverMovesUnasked(t *testing.T) {
	for _, form := range []string{FormTapered, FormUniform, FormUnknown, ""} {
		for x := -1.0; x <= 1; x += 0.25 {
			for y := -1.0; y <= 1; y += 0.25 {
				for u := -1.0; u <= 1; u += 0.5 {
					for v := -1.0; v <= 1; v += 0.25 {
						locked := ContactAdvice(Contact{u, x}, Contact{-u, y}, form, false)
						assert.Zero(t, locked.Pinion)
						if zone(x) != 0 && zone(x) == zone(y) {
							assert.True(t, locked.Stop)
						}
						free := ContactAdvice(Contact{v, x}, Contact{u, y}, form, true)
						if free.Pinion != 0 {
							assert.Contains(t, []string{FormTapered, FormUniform}, form)
							assert.Equal(t, zone(x), zone(y), "never from one flank")
						}
						assert.False(t, free.Accept && free.Stop)
					}
				}
			}
		}
	}
}

func TestOddContact(t *testing.T) {
	for _, c := range []struct {
		up, along float64
		form      string
		odd       bool
	}{
		{0.6, 0.6, FormTapered, false}, {0.6, -0.6, FormTapered, true}, {0.6, 0, FormTapered, false},
		{0.6, 0.6, FormUniform, true}, {0.6, -0.6, FormUniform, false}, {-0.6, 0.6, FormTapered, true}, {-0.6, -0.6, FormTapered, false},
	} {
		assert.Equal(t, c.odd, ContactAdvice(Contact{c.along, c.up}, Contact{-c.along, c.up}, c.form, true).Odd, "%+v", c)
	}
}
