package readings

import (
	"fmt"
	"strings"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// checkTwins reports rows that say exactly what another row says, where they
// cannot be two placings: in two files, at one second, or before and after
// another page was read. Inside one visit, and with times written to the
// minute, two placings may well agree to the last digit; these stay.
func (l *Log) checkTwins(ps *table.Problems) {
	agreeing := 0
	for i := 1; i < len(l.Readings); i++ {
		a, b := &l.Readings[i-1], &l.Readings[i]
		if compareContent(a, b) != 0 {
			continue
		}
		if a.File == b.File && a.visit == b.visit && !b.seconds {
			agreeing++
			continue
		}
		ps.Add(table.Problem{File: b.File, Line: b.Line, Value: l.describe(b),
			Expected: fmt.Sprintf("each reading once (line %d of %s says exactly this)", a.Line, a.File),
			Remedy:   "delete one of the two, or correct the time if they were two placings"})
	}
	if agreeing > 0 {
		l.Notes = append(l.Notes, fmt.Sprintf("%s with another of the same visit to the page in every column, time included; they are taken for placings that agree, not for rows copied twice.",
			wording.Plain(agreeing, "reading agrees", "readings agree")))
	}
}

// describe names a reading in a message.
func (l *Log) describe(r *Reading) string {
	if r.Target == OnTile {
		return fmt.Sprintf("tile of %s, %s", l.Instruments[r.Instrument].ID, r.Day)
	}
	return fmt.Sprintf("%s %s, %s, %s", l.books[r.Book].ID, l.pageLabel(r.Book, r.Page), r.Target, r.Day)
}

func (l *Log) pageLabel(book, page int) string { return l.books[book].Pages[page].Label.String() }

// checkZeros reports each page that was read on a day with an instrument
// without a zero of that page, day and instrument. It relies on the order of
// Readings.
func (l *Log) checkZeros(spoilt map[zeroKey]bool, ps *table.Problems) {
	for start := 0; start < len(l.Readings); {
		key := l.Readings[start].zeroKey()
		end := start
		var first *Reading // of the placings, by line
		zero, excludedZero := spoilt[key], false
		for ; end < len(l.Readings) && l.Readings[end].zeroKey() == key; end++ {
			r := &l.Readings[end]
			switch {
			case r.Target == OnZero && r.Excluded != "":
				excludedZero = true
			case r.Target == OnZero:
				zero = true
			case r.Target == OnPage && r.Excluded == "" && (first == nil || r.Line < first.Line && r.File == first.File):
				first = r
			}
		}
		if first != nil && !zero {
			ps.Add(l.missingZero(first, excludedZero))
		}
		start = end
	}
}

func (l *Log) missingZero(r *Reading, excluded bool) table.Problem {
	p := table.Problem{File: r.File, Line: r.Line, Column: "target", Value: l.describe(r),
		Expected: fmt.Sprintf("a reading of this page's zero by %s on the same day", l.Instruments[r.Instrument].ID),
		Remedy:   "add it from your notes; without its zero, give the page's readings a reason in the column excluded"}
	if excluded {
		p.Remedy = "the only zeros are excluded: keep one, or exclude the page's readings too"
	}
	return p
}

// noteScale notes readings between two steps of their instrument's scale.
func (l *Log) noteScale() {
	counts := make([]int, len(l.Instruments))
	for i := range l.Readings {
		if r := &l.Readings[i]; r.Excluded == "" && !l.Instruments[r.Instrument].OnScale(r.Density) {
			counts[r.Instrument]++
		}
	}
	for i, n := range counts {
		if n > 0 {
			in := l.Instruments[i]
			l.Notes = append(l.Notes, fmt.Sprintf("In the readings of %[2]s, %[1]s between two steps of its scale (%[3]g): perhaps means were written down, or the resolution in the table of instruments is wrong.",
				wording.Plain(n, "density stands", "densities stand"), in.ID, in.Resolution))
		}
	}
}

// noteObservers notes names of observers that differ in capitals only: they
// count as two, which is seldom meant.
func (l *Log) noteObservers() {
	spelt := map[string]string{}
	noted := map[string]bool{}
	for i := range l.Readings {
		name := l.Readings[i].Observer
		if noted[name] {
			continue
		}
		noted[name] = true
		folded := strings.ToLower(name)
		if other, known := spelt[folded]; known {
			l.Notes = append(l.Notes, fmt.Sprintf("The observers %s and %s differ in capitals only and count as two; spell the name one way if they are one.", other, name))
			continue
		}
		spelt[folded] = name
	}
}
