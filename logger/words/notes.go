package words

import (
	"fmt"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/units"
)

// notes has the sentence of each code; %s writes a figure with its own decimals.
var notes = map[analysis.NoteCode]string{
	analysis.FirstRockAside:   "first rock set aside: it differs from the others",
	analysis.PartialAside:     "%.0f partial rock(s) set aside: a stop was not reached",
	analysis.OddStopsAside:    "%.0f stop(s) set aside: they differ from the others",
	analysis.MaybeEndOfTravel: "one stop reads the same every time, as at the end of the plunger's travel; this gauge cannot tell: see that the plunger goes further",
	analysis.DigitsStand:      "the digits stand still: more rocks do not help; nudge the fine adjustment of the base a little between rocks, or use a finer gauge",
	analysis.OldDwellsDropped: "long trace: only the newest %.0f rests are used",
	analysis.TimeWentBack:     "time stamps went back %.0f time(s)",
	analysis.OilFilm:          "the reading crept far into the stops, as through an oil film: hold the wheel against each stop a little longer",
	analysis.GaugeLags:        "the gauge comes late, as one that averages: its readings had not settled when the wheel left the stops; hold it against each stop longer, or switch the averaging off",
	analysis.AtMost:           "the wheel never rested: the backlash is at most %.4f, peak to peak",
	analysis.NoLengths:        "the readings or the set-up make no sense as lengths",

	analysis.NotNumbers:  "%.0f reading(s) were not numbers",
	analysis.FewReadings: "%.0f readings are too few",
	analysis.ReadingGaps: "%.0f gaps in the readings",
	analysis.NoTorque:    "no torque in the trace",

	analysis.FewPlaces:     "%.0f places are too few for a run-out",
	analysis.ReadingStood:  "the reading never moved: is the gauge held, or the plunger off the face?",
	analysis.TooQuick:      "a turn of %.2g s is too quick to be one: turn steadily, a turn in ten seconds or more",
	analysis.OneTurnSeen:   "taken as one turn of %.3g s",
	analysis.TurnsSeen:     "%.2f turns of %.3g s recognised",
	analysis.TwoCounts:     "the movement is two counts at most, too little to tell turns and harmonics",
	analysis.MaybeTwoTurns: "it may as well be two turns: harmonics cannot be told; turn once more, or read at marked positions",
	analysis.UnreadArc:     "nothing was read over %.0f° of the turn",
	analysis.ReadingStep:   "the reading stepped by %.3f mm at %.0f°: zero pressed, gauge bumped or base knocked",
	analysis.OffByTurn:     "a turn later the reading is %.3f mm off: the base moved, or a bearing is not seated",
	analysis.StandsOut:     "the reading at %.0f° stands out by %.3f mm: measure it again",
	analysis.StandsOutOnce: "the reading at %.0f° stands out by %.3f mm: turn on for a second turn",
	analysis.NoSecond:      "these angles cannot tell twice a turn from the rest",
	analysis.FewForSecond:  "%.0f places are too few to tell twice a turn: eight or more are needed",
	analysis.NoFirst:       "these angles cannot tell once a turn from the rest",

	analysis.NoTime:          "no time passed between the two readings",
	analysis.ZeroFromStart:   "the pressure is at zero from the beginning",
	analysis.NeverChanged:    "the reading never changed: a held gauge looks like a tight line; see that it follows the pressure, or use a finer gauge",
	analysis.NoTemperature:   "no temperature: a change of 1 °C would move the pressure by %s kPa",
	analysis.ShortTest:       "only %.0f s of test: leave it longer for a surer rate",
	analysis.NoLeakSeen:      "no leak beyond the uncertainty of this test",
	analysis.Warmed:          "temperature changed by %+.2f °C; as read the rate was %.3g kPa/min",
	analysis.StillSettling:   "the pressure was still settling at first: fill, wait and start again",
	analysis.QuickLoss:       "%.3g kPa went in the first %.0f s, faster than after: it counts in the drop and in the mean rate; fill, wait and start again to see the rest",
	analysis.GaugeStepped:    "the pressure stepped by %+.3g kPa at %.0f s: gauge tapped or line touched; the step is left out",
	analysis.LastDigit:       "the drop of %s kPa is no more than the gauge's last digit can tell",
	analysis.TemperatureHeld: "the temperature never changed: up to %s °C may be hidden in it",

	analysis.NegativePull:   "pull at %.2f s is the negative way",
	analysis.PullGap:        "readings are missing within the pull at %.2f s",
	analysis.PullUnfinished: "the trace ends before the last pull is let off",
	analysis.NothingAbove:   "nothing rises above %.4g N·m",
	analysis.ShortTurning:   "less than a second of turning",
	analysis.NeverSettled:   "the torque never settled",
	analysis.NoRipple:       "no whole turn shows in the ripple: median of all that is steady",
	analysis.NoBreakaway:    "no breakaway peak stood out from the running torque",
	analysis.TorqueTrend:    "the torque goes from %.3g to %.3g N·m: turn on until it is steady",
}

// figure writes itself short for %s and as any number for the other verbs.
type figure float64

func (f figure) String() string { return units.Short(float64(f)) }

// Note says what a note of a measurement is of.
func Note(n analysis.Note) string {
	if n.Code == analysis.SpikesAside {
		return units.Counted(int(n.Args[0]), "spike", "spikes") + " left out" +
			Given(n.Args[1] > 0, "; at the same place each turn: burr, paint or bruise")
	}
	return fmt.Sprintf(notes[n.Code], figures(n.Args)...)
}

func figures(vs []float64) []any {
	args := make([]any, len(vs))
	for i, v := range vs {
		args[i] = figure(v)
	}
	return args
}

// Notes says each note in turn, an empty list for none.
func Notes(l []analysis.Note) []string {
	said := make([]string, len(l))
	for i, n := range l {
		said[i] = Note(n)
	}
	return said
}

// Joined says all the notes in one line, "; " between them.
func Joined(l []analysis.Note) string { return strings.Join(Notes(l), "; ") }
