package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCheckSheetLooksAtTheStages(t *testing.T) {
	s := ExampleSheet()
	assert.Equal(t, s.Check(), CheckSheet(s), "the stages of the trade need no word")

	s.Stages = append(s.StageList(), "setup")
	assert.Equal(t, Finding{Severity: Advice, Where: "stages", Text: `"setup" is a stage of your own: only the backlash is asked for in it; did you mean set-up?`}, CheckSheet(s)[0])

	s.Stages = []string{"foo"}
	away := func(hold string) Finding {
		return Finding{Severity: Warning, Where: "stages", Text: "the hold point " + hold + " falls away, because its stage is not listed"}
	}
	assert.Equal(t, append([]Finding{
		{Severity: Advice, Where: "stages", Text: `"foo" is a stage of your own: only the backlash is asked for in it`},
		away(HoldAsFound), away(HoldFace), away(HoldRecheck),
	}, s.Check()...), CheckSheet(s))

	s.Stages = []string{StageAsFound, StageBench, StageCaps}
	assert.Equal(t, s.Check(), CheckSheet(s), "the caps' stage will do for the re-check")
}
