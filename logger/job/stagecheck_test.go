package job

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestCheckSheetLooksAtTheStages(t *testing.T) {
	s := sheet.Example()
	assert.Equal(t, s.Check(), CheckSheet(s), "the stages of the trade need no word")

	s.Stages = append(s.StageList(), "setup")
	assert.Equal(t, sheet.Finding{Severity: sheet.Advice, Where: "stages", Text: `"setup" is a stage of your own: only the backlash is asked for in it; the usual ones are as-found, bench, set-up, caps-torqued, final, fit-up`}, CheckSheet(s)[0])

	s.Stages = []string{"foo"}
	warn := func(text string) sheet.Finding {
		return sheet.Finding{Severity: sheet.Warning, Where: "stages", Text: text}
	}
	assert.Equal(t, append([]sheet.Finding{
		{Severity: sheet.Advice, Where: "stages", Text: `"foo" is a stage of your own: only the backlash is asked for in it; the usual ones are as-found, bench, set-up, caps-torqued, final, fit-up`},
		warn("the hold point as-found-backlash falls away, because its stage is not listed"),
		warn("nothing waits for closing up, because neither caps-torqued nor final is listed"),
	}, s.Check()...), CheckSheet(s))

	s.Stages = []string{record.StageAsFound, record.StageBench, record.StageCaps}
	assert.Equal(t, s.Check(), CheckSheet(s), "the caps' stage will do for the re-check")
}
