package install

// WithoutUsualGo hides the Go of this machine that is not on the PATH, and
// returns what brings it back.
func WithoutUsualGo() func() {
	was := usualGo
	usualGo = "/nonexistent/go"
	return func() { usualGo = was }
}

// CellsRun tells whether cells run on a system.
var CellsRun = cellsRun
