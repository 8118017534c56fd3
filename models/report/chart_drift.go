package report

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/readings"
	"thumbed/models/wording"
)

// driftMarks tell instruments apart by shape first and colour second.
var driftMarks = []mark{
	{circle, 2.2, blue, false, 0}, {square, 2.4, red, true, 0}, {diamond, 2.6, green, false, 0}, {upward, 2.2, text, true, 0.9 * markRadius},
}

// driftChart draws for each measuring day and instrument where the reference
// tile stood as the day began and as it ended.
func driftChart(drift []readings.DayDrift) sketch {
	days, instruments := driftAxes(drift)
	f := Figure{
		Name: "drift", Title: "Drift of the instruments day by day", Width: figureWidth, Height: 150,
		Caption: "The reference tile’s departure from its certified density as each measuring day began and as it ended; the upright line is the correction’s 95" + wording.Narrow + "% interval at mid-day. The readings of a day are corrected by this line.",
	}
	f.Alt = fmt.Sprintf("Lines for %s and %s.", wording.Count(len(days), "measuring day", "measuring days"), wording.Count(len(instruments), "instrument", "instruments"))
	for _, d := range drift {
		f.Alt += fmt.Sprintf(" %s, %s: from %s to %s.", d.Day, d.Instrument, wording.Density(d.Start), wording.Density(d.End))
	}
	var legend []legendEntry
	for i, instrument := range instruments {
		legend = append(legend, legendEntry{markSample(driftMarks[i%len(driftMarks)]), instrument})
	}
	rows := legendRows(legend, f.Width-60)
	f.Height += vg.Length(len(rows)) * legendLine
	return sketch{Figure: f, paint: func(c draw.Canvas) { paintDrift(c, drift, rows) }}
}

func driftAxes(drift []readings.DayDrift) (days, instruments []string) {
	seen := map[string]bool{}
	for _, d := range drift {
		if !seen["day "+d.Day] {
			seen["day "+d.Day] = true
			days = append(days, d.Day)
		}
		if !seen["instrument "+d.Instrument] {
			seen["instrument "+d.Instrument] = true
			instruments = append(instruments, d.Instrument)
		}
	}
	return days, instruments
}

func paintDrift(c draw.Canvas, drift []readings.DayDrift, legend [][]legendEntry) {
	days, instruments := driftAxes(drift)
	p := newPlot("", "tile’s departure (density)")
	p.X.Min, p.X.Max = 0.4, float64(len(days))+0.6
	p.X.Tick.Marker = dayTicks(days)
	p.X.Tick.Length = 0
	for _, d := range drift {
		for _, v := range []float64{0, d.Start, d.End, (d.Start+d.End)/2 - normal95*d.SE, (d.Start+d.End)/2 + normal95*d.SE} {
			if finite(v) {
				p.Y.Min, p.Y.Max = min(p.Y.Min, v), max(p.Y.Max, v)
			}
		}
	}
	p.Y.Max = max(p.Y.Max, p.Y.Min+leastReach)
	margin := 0.06 * (p.Y.Max - p.Y.Min)
	p.Y.Min, p.Y.Max = p.Y.Min-margin, p.Y.Max+margin
	p.Add(levelLines(p), layer(func(c draw.Canvas, x, y func(float64) vg.Length) {
		c.StrokeLine2(stroke(quiet, 0.8, 4, 2), c.Min.X, y(0), c.Max.X, y(0))
	}))
	for k, instrument := range instruments {
		p.Add(dayLines(drift, days, instrument, float64(k)-float64(len(instruments)-1)/2, driftMarks[k%len(driftMarks)]))
	}
	legendHeight := vg.Length(len(legend))*legendLine + 4
	p.Draw(draw.Crop(c, 4, -8, legendHeight, -6))
	drawLegend(draw.Crop(c, 44, 0, 0, -(c.Max.Y-c.Min.Y-legendHeight)), legend)
}

// dayTicks names as many days as fit.
func dayTicks(days []string) plot.ConstantTicks {
	width := lettering(textSize, text).Width("2026-03-09") + 8
	every := 1 + int(width*vg.Length(len(days))/(figureWidth-50))
	var out plot.ConstantTicks
	for i, day := range days {
		if i%every == 0 {
			out = append(out, plot.Tick{Value: float64(i + 1), Label: day})
		}
	}
	return out
}

// dayLines draws one instrument's days, each a line from morning to evening.
func dayLines(drift []readings.DayDrift, days []string, instrument string, shift float64, m mark) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		at := map[string]float64{}
		for i, day := range days {
			at[day] = float64(i+1) + 0.12*shift
		}
		var lines, ends vg.Path
		for _, d := range drift {
			if d.Instrument != instrument || !finite(d.Start) || !finite(d.End) {
				continue
			}
			from, to := vg.Point{X: x(at[d.Day] - 0.25), Y: y(d.Start)}, vg.Point{X: x(at[d.Day] + 0.25), Y: y(d.End)}
			lines.Move(from)
			lines.Line(to)
			if middle := (d.Start + d.End) / 2; finite(d.SE) {
				lines.Move(vg.Point{X: x(at[d.Day]), Y: y(middle - normal95*d.SE)})
				lines.Line(vg.Point{X: x(at[d.Day]), Y: y(middle + normal95*d.SE)})
			}
			m.outline(&ends, from, m.radius)
			m.outline(&ends, to, m.radius)
		}
		strokePath(c, lines, stroke(m.ink, 1))
		m.draw(c, ends)
	}
}
