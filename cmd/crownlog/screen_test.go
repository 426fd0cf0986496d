package main

import (
	"testing"

	"crownlog/cmd/crownlog/dashboard"

	"github.com/stretchr/testify/assert"
)

func TestScreenOptions(t *testing.T) {
	for _, c := range []struct {
		name string
		env  map[string]string
		want dashboard.Options
	}{
		{"nothing set", nil, dashboard.Options{Bell: true}},
		{"no colour", map[string]string{"NO_COLOR": "1"}, dashboard.Options{Bell: true, NoColor: true}},
		{"empty NO_COLOR is not set", map[string]string{"NO_COLOR": ""}, dashboard.Options{Bell: true}},
		{"dark", map[string]string{"COLORFGBG": "15;0"}, dashboard.Options{Bell: true}},
		{"light", map[string]string{"COLORFGBG": "0;15"}, dashboard.Options{Bell: true, Light: true}},
		{"three fields", map[string]string{"COLORFGBG": "0;default;15"}, dashboard.Options{Bell: true, Light: true}},
		{"dark grey", map[string]string{"COLORFGBG": "7;8"}, dashboard.Options{Bell: true}},
		{"not numbers", map[string]string{"COLORFGBG": "default;default"}, dashboard.Options{Bell: true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.want, screenOptions(func(k string) string { return c.env[k] }))
		})
	}
}
