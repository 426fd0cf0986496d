package record

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestActive(t *testing.T) {
	plain := func(id, supersedes int) Capture { return Capture{ID: id, Supersedes: supersedes, Quality: QualityOK} }
	rejects := func(id, supersedes int) Capture {
		return Capture{ID: id, Supersedes: supersedes, Quality: QualityRejected}
	}
	tests := []struct {
		name string
		cs   []Capture
		want []int
	}{
		{"none", nil, nil},
		{"plain", []Capture{plain(1, 0), plain(2, 0)}, []int{1, 2}},
		{"superseded", []Capture{plain(1, 0), plain(2, 1)}, []int{2}},
		{"undone", []Capture{plain(1, 0), rejects(2, 1)}, nil},
		{"undone and measured", []Capture{plain(1, 0), rejects(2, 1), plain(3, 2)}, []int{3}},
		{"undone, measured, undone", []Capture{plain(1, 0), rejects(2, 1), plain(3, 2), rejects(4, 3)}, nil},
		{"measured again and undone", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2)}, []int{1}},
		{"and measured once more", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2), plain(4, 3)}, []int{4}},
		{"and undone again", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2), plain(4, 3), rejects(5, 4)}, []int{1}},
		{"both undone", []Capture{plain(1, 0), plain(2, 1), rejects(3, 2), rejects(4, 1)}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []int
			for _, c := range Active(tt.cs) {
				got = append(got, c.ID)
			}
			assert.Equal(t, tt.want, got)
		})
	}
}
