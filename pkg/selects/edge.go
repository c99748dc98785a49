package selects

// Edge is a new in or out as a person writes it. The zero Edge leaves the
// place as it is.
type Edge struct{}

// ParseEdge reads "+0.5", "-12f", "10:00:12:05", "1:23.4" or "".
func ParseEdge(text string) (Edge, error) { return Edge{}, errNotBuilt }
