package dropoff

import (
	"fmt"
	"math"
	"strings"
)

// A KnownBreak is a place where the level was free to differ, since a break was
// known there beforehand: a change of scribe, a rebinding. It is no change found,
// and a change right at it is not distinguishable from what the break itself does.
type KnownBreak struct {
	After    int     `json:"after"`                          // last row before the break, counted from 1
	At       string  `json:"at"`                             // label of that row
	Before   string  `json:"before"`                         // the page, or row, before which it lies
	Reason   string  `json:"reason"`                         // why it is known; empty where not told
	Size     float64 `json:"size" unit:"of the values"`      // level after it less level before it
	SizeLow  float64 `json:"size_low" unit:"of the values"`  // lower end of its 95 % interval, the places of changes taken as found
	SizeHigh float64 `json:"size_high" unit:"of the values"` // upper end of its 95 % interval
}

// Differs says that the interval of the size leaves out 0.
func (k KnownBreak) Differs() bool { return k.SizeLow > 0 || k.SizeHigh < 0 }

// Name calls the break: "before 57r (a second scribe begins)".
func (k KnownBreak) Name() string {
	if k.Reason == "" {
		return "before " + k.Before
	}
	return fmt.Sprintf("before %s (%s)", k.Before, k.Reason)
}

// UnbrokenRows are rows that were known to hold no change.
type UnbrokenRows struct {
	From   int    `json:"from"`   // first row, counted from 1
	To     int    `json:"to"`     // last row
	Reason string `json:"reason"` // why it holds no change; empty where not told
}

func (w UnbrokenRows) because() string {
	if w.Reason == "" {
		return ""
	}
	return " (" + w.Reason + ")"
}

// know tells the known breaks with the levels on either side, and the stretches
// without change.
func (out *Changes) know(s Series, o Options) {
	quantile := out.quantile()
	for _, after := range o.breaks() {
		name, named := o.Named[after]
		if !named {
			name.Before = s.Label(after + 1)
		}
		k := KnownBreak{After: after, At: s.Label(after), Before: name.Before, Reason: name.Reason}
		old, new, _ := out.Around(after)
		k.Size, k.SizeLow, k.SizeHigh = sizeOf(old, new, quantile)
		out.Known = append(out.Known, k)
	}
	for i, zone := range o.Quiet {
		w := UnbrokenRows{From: zone[0], To: zone[1]}
		if i < len(o.Why) {
			w.Reason = o.Why[i]
		}
		out.Unbroken = append(out.Unbroken, w)
	}
}

// knownNote tells by how much levels differ at the known breaks.
func (out *Changes) knownNote() string {
	var told []string
	for _, k := range out.Known[:min(len(out.Known), mostNamed)] {
		told = append(told, k.sentence())
	}
	if more := len(out.Known) - mostNamed; more > 0 {
		told = append(told, fmt.Sprintf("So it was at %s more.", count(more, "known break")))
	}
	return strings.Join(told, " ") + " That is not counted among the changes; a change right at a known break is not distinguishable from what the break itself does."
}

// sentence tells one break.
func (k KnownBreak) sentence() string {
	word := "higher"
	if k.Size < 0 {
		word = "lower"
	}
	text := fmt.Sprintf("At the known break %s the level was left free to differ; after it the level is %s by %.3g (95 %% interval of the difference %+.3g to %+.3g)", k.Name(), word, math.Abs(k.Size), k.SizeLow, k.SizeHigh)
	if !k.Differs() {
		text += ", which may be nothing"
	}
	return text + "."
}

// beside says beside how many known breaks something was found, or nothing.
func (out *Changes) beside() string {
	if len(out.Known) == 0 {
		return ""
	}
	return " beside " + count(len(out.Known), "known break")
}
