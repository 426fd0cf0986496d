package job

import (
	"fmt"
	"strings"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// CheckSheet is Sheet.Check with what a list of stages of one's own does to the
// steps and the hold points of the job in front.
func CheckSheet(s sheet.Sheet) []sheet.Finding {
	var found []sheet.Finding
	add := func(severity sheet.Severity, format string, args ...any) {
		found = append(found, sheet.Finding{Severity: severity, Where: "stages", Text: fmt.Sprintf(format, args...)})
	}
	usualStages := append(sheet.Sheet{}.StageList(), record.StageFitUp)
	j := Job{Sheet: s}
	for _, name := range s.StageList() {
		if _, usual := stageSteps[name]; !usual {
			add(sheet.Advice, "%q is a stage of your own: only the backlash is asked for in it; the usual ones are %s", name, strings.Join(usualStages, ", "))
		}
	}
	if !j.hasStage(record.StageAsFound) {
		add(sheet.Warning, "the hold point %s falls away, because its stage is not listed", HoldAsFound)
	}
	if j.closingStage() < 0 {
		add(sheet.Warning, "nothing waits for closing up, because neither %s nor %s is listed", record.StageCaps, record.StageFinal)
	}
	return append(found, s.Check()...)
}
