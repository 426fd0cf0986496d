package analysis

// A Contact is where the marking compound shows the teeth meeting on one flank.
type Contact struct {
	Along float64 // -1 toe, 0 middle, +1 heel
	Up    float64 // -1 root, 0 middle, +1 face
}
