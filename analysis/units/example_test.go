package units_test

import (
	"fmt"

	"crownlog/analysis/units"
)

func ExampleConvert() {
	nm, err := units.Convert(72, "ft-lb", "Nm")
	fmt.Printf("%.1f N·m %v\n", nm, err)
	_, err = units.Convert(1, "mm", "psi")
	fmt.Println(err)
	// Output:
	// 97.6 N·m <nil>
	// cannot turn length "mm" into pressure "psi"
}

func ExampleCanonical() {
	quantity, base, _ := units.Canonical("thou")
	fmt.Println(quantity, base)
	// Output: length mm
}
