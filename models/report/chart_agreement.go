package report

import (
	"fmt"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/readings"
	"thumbed/models/wording"
)

// agreementMark is one page or spot.
var agreementMark = mark{circle, 1.8, blue, true, 0}

// agreementChart draws what two instruments differ by against the mean of both, with the
// mean difference and the limits of agreement (Bland and Altman 1986).
func agreementChart(a readings.Agreement) sketch {
	of, such, name := "pages", "such differences", "agreement-"+fileName(a.One)+"-"+fileName(a.Other)
	if a.Paired {
		of, name = "spots", name+"-paired"
	}
	if a.RatioTold {
		such = "differences of single placings, which scatter more than the means marked,"
	}
	f := Figure{
		Name: name, part: "agreement", Title: fmt.Sprintf("What %s and %s differ by", a.One, a.Other), Width: figureWidth, Height: 190,
		Caption: fmt.Sprintf("Each mark is one of %s that %s and %s both read: %s less %s against the mean of both. The whole line is the mean difference; 95%s%% of "+such+" are expected between the broken ones. The dotted line is what the fitted line between them makes of it.",
			wording.Whole(a.Pages)+" "+of, a.One, a.Other, a.Other, a.One, wording.Narrow),
	}
	f.Alt = fmt.Sprintf("They differ by %s on the mean, and by %s to %s in 95%s%% of %s.", wording.Density(a.Difference), wording.Density(a.Low), wording.Density(a.High), wording.Narrow, of)
	return sketch{Figure: f, paint: func(c draw.Canvas) { paintAgreement(c, a) }}
}

func paintAgreement(c draw.Canvas, a readings.Agreement) {
	p := newPlot("mean of "+a.One+" and "+a.Other+" (density)", a.Other+" less "+a.One)
	p.Y.Min, p.Y.Max = min(0, a.Low), max(0, a.High)
	p.X.Min, p.X.Max = (a.X[0]+a.Y[0])/2, (a.X[0]+a.Y[0])/2
	for i := range a.X {
		mean, difference := (a.X[i]+a.Y[i])/2, a.Y[i]-a.X[i]
		p.X.Min, p.X.Max = min(p.X.Min, mean), max(p.X.Max, mean)
		p.Y.Min, p.Y.Max = min(p.Y.Min, difference), max(p.Y.Max, difference)
	}
	p.X.Max, p.Y.Max = max(p.X.Max, p.X.Min+leastReach), max(p.Y.Max, p.Y.Min+leastReach)
	besideX, besideY := 0.04*(p.X.Max-p.X.Min), 0.06*(p.Y.Max-p.Y.Min)
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = p.X.Min-besideX, p.X.Max+besideX, p.Y.Min-besideY, p.Y.Max+besideY
	p.Add(levelLines(p), layer(func(c draw.Canvas, x, y func(float64) vg.Length) {
		across := func(at float64, style draw.LineStyle) {
			c.StrokeLine2(style, c.Min.X, y(at), c.Max.X, y(at))
		}
		across(a.Difference, stroke(text, 1))
		across(a.Low, stroke(text, 0.8, 5, 3))
		across(a.High, stroke(text, 0.8, 5, 3))
		// y = offset + slope x, as the difference against the mean of both
		var fitted vg.Path
		for k, mean := range []float64{p.X.Min + besideX, p.X.Max - besideX} {
			one := (2*mean - a.Offset) / (1 + a.Slope)
			at := vg.Point{X: x(mean), Y: clampY(c, y(a.Offset+(a.Slope-1)*one))}
			if k == 0 {
				fitted.Move(at)
			} else {
				fitted.Line(at)
			}
		}
		strokePath(c, fitted, stroke(red, 1, 1, 2.5))
		var marks vg.Path
		for i := range a.X {
			agreementMark.outline(&marks, vg.Point{X: x((a.X[i] + a.Y[i]) / 2), Y: y(a.Y[i] - a.X[i])}, agreementMark.radius)
		}
		agreementMark.draw(c, marks)
	}))
	p.Draw(draw.Crop(c, 4, -8, 0, -6))
}
