package report

// Each is what f makes of each of a list, which as JSON is never null.
func Each[A, B any](list []A, f func(A) B) []B {
	out := make([]B, 0, len(list))
	for _, a := range list {
		out = append(out, f(a))
	}
	return out
}
