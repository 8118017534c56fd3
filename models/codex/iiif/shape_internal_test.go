package iiif

import (
	"math"
	"testing"
)

// TestBoxesOfShapes: the rectangles around shapes are those that a browser gives (getBBox
// of Chromium 156; the two polygons are examples published with annotation tools, the
// first path the form of a library's transcriptions).
func TestBoxesOfShapes(t *testing.T) {
	for shape, want := range map[string]box{
		`<polygon points="196,3324 861,3323 856,4061 369,4057 370,3925 305,3852 191,3851"/>`:                                {191, 3323, 861, 4061},
		`<polygon points='172,160 199,15 223,6 239,132 244,173 285,179 313,208 313,251 218,306 170,290 172,160'></polygon>`: {170, 6, 313, 306},
		`<path d="M120,340 200,340 200,430 120,430 120,340z"/>`:                                                             {120, 340, 200, 430},
		`<path d="M250 100a75 40 0 1 0 150 0a75 40 0 1 0-150 0z"/>`:                                                         {250, 60, 400, 140},
		`<path d="M100,200 A50,30 30 1,1 180,220 L150,260 Z"/>`:                                                             {91.738, 157.589, 183.390, 260},
		`<path d="m10.5-3.25h40v60.5H10.5zm100 100l20 30-40-5"/>`:                                                           {10.5, -3.25, 130.5, 126.75},
		`<path d="M80 10A30 30 0 0110 70.5"/>`:                                                                              {10, 10, 91.261, 86.511},
		`<ellipse cx="300" cy="400" rx="50" ry="20.5"/>`:                                                                    {250, 379.5, 350, 420.5},
		`<circle cx="30" cy="40" r="10"/>`:                                                                                  {20, 30, 40, 50},
		`<rect x="5" y="6" width="70" height="8"/>`:                                                                         {5, 6, 75, 14},
		`<g><polyline points="1,2 3,4"/><line x1="9" y1="8" x2="7" y2="30"/></g>`:                                           {1, 2, 9, 30},
	} {
		got, is := boxOf("<svg xmlns='http://www.w3.org/2000/svg'>"+shape+"</svg>", 1000, 1000)
		for _, d := range []float64{got.left - want.left, got.top - want.top, got.right - want.right, got.bottom - want.bottom} {
			if !is || math.Abs(d) > 0.05 { // an arc is followed in 64 steps
				t.Errorf("%s has the box %v, expected %v", shape, got, want)
				break
			}
		}
	}
	if got, is := boxOf(`<svg viewBox="0 0 100 200"><rect x="10" y="20" width="30" height="40"/></svg>`, 1000, 1000); !is || got != (box{100, 100, 400, 300}) {
		t.Errorf("a drawing of another size is not stretched to its canvas: %v", got)
	}
	for _, svg := range []string{"", "<svg></svg>", `<svg><rect width="3" height="4" transform="rotate(30)"/></svg>`, `<svg><path d="M1"/></svg>`, `<svg><path d="M1 1e999 2 3"/></svg>`, "<svg><polygon points='1,1"} {
		if got, is := boxOf(svg, 100, 100); is {
			t.Errorf("%s has the box %v", svg, got)
		}
	}
}
