package dashboard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/setup"
	"crownlog/logger/job"
)

func TestMoveText(t *testing.T) {
	nan := math.NaN()
	for _, tt := range []struct {
		after, advised, u float64
		want              string
	}{
		{0.186, 0.189, 0.006, "+1: expected 0.189 ±0.012, got 0.186"},
		{0.186, 0.189, nan, "+1: expected 0.189, got 0.186"},
		{0.186, nan, nan, "+1: got 0.186"},
		{nan, nan, nan, "+1: not measured since"},
	} {
		assert.Equal(t, tt.want, moveText(job.MoveResult{Advised: tt.advised, U: tt.u, Move: setup.Move{Steps: 1, After: tt.after}}))
	}
}
