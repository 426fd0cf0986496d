package words

import (
	"fmt"

	"crownlog/analysis/setup"
)

// ofStrongBolt is a torque above the bolt's ceiling.
const ofStrongBolt = setup.OfBolt + ", above its ceiling"

// Doubt says why a printed figure is worth a second look.
func Doubt(d setup.Doubt, length Length) string {
	of := d.Of
	if of == setup.OfBolt && d.Args[0] > d.Args[1] {
		of = ofStrongBolt
	}
	args := figures(d.Args)
	for i, v := range d.Args {
		whole := of == setup.OfAnySize || of == setup.OfFace || d.Kind == setup.DoubtCoarse
		if whole || i > 0 && (of == setup.OfSize || of == setup.OfGauge) { // the first is of the wheel, or a count
			args[i] = length(v)
		}
	}
	for _, name := range d.Names {
		args = append(args, name)
	}
	return fmt.Sprintf(sentences.Doubts[of]+sentences.Doubts[of+" "+d.Kind], args...)
}
