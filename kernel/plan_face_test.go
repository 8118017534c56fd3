package kernel_test

import (
	"context"
	"strings"
	"testing"

	"thumbed/kernel"
	"thumbed/models/study/plan"
)

// TestAPlanIsShown: what a plan says, its curves, and the order of placings.
func TestAPlanIsShown(t *testing.T) {
	p, err := plan.Read("plan.toml", []byte(`
[question]
words    = "Do pictures attract handling?"
contrast = { "picture=yes" = 1 }
smallest = 0.05
[model]
outcome = "wear"
fixed   = ["picture"]
[model.levels]
picture = ["no", "yes"]
[assumed]
page = 0.05
[layout]
leaves   = 30
pictures = 0.3
[measuring]
on_page = 0.011
[designs]
books      = [1]
pages      = [20, 40]
placings   = [1]
replicates = 20
[sheet]
pages      = 20
placings   = 2
instrument = "D1"
observers  = ["ann"]
dates      = ["2026-06-01"]
`))
	if err != nil {
		t.Fatal(err)
	}
	result, err := p.Try(context.Background(), kernel.Progress("Campaigns"))
	if err != nil {
		t.Fatal(err)
	}
	out, err := kernel.Faces(nil, result)
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != 3 || !strings.Contains(out[0].Plain, "nine of ten") || !strings.Contains(out[0].HTML, "<table") || !strings.Contains(string(out[1].SVG), "<svg") || len(out[2].PNG) == 0 {
		t.Errorf("%d outputs: %+v", len(out), out)
	}
	order, err := p.Order()
	if err != nil {
		t.Fatal(err)
	}
	if out, err = kernel.Faces(nil, order); err != nil || len(out) != 1 || !strings.Contains(out[0].HTML, "the order of the leaves") {
		t.Errorf("%v: %+v", err, out)
	}
}
