package intake

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// A proposedLook is what the name of a column of looks tells.
type proposedLook struct {
	sheet.Look
	sure bool // a word for a part or a trace is in the name
}

// Marks that part the pieces of a column's name; and initials of an observer.
var (
	reBetween  = regexp.MustCompile(`\s*[:;,/|()_–—]\s*|\s+-\s+`)
	reInitials = regexp.MustCompile(`^(?:\p{Lu}\.?){1,3}$`)
)

// lookColumns finds the columns that hold looks, of a sheet with a row a page, and what
// their names tell of them; nil where the sheet has a row a look.
func lookColumns(t *table.Table, matched map[string][]string) map[string]proposedLook {
	out := map[string]proposedLook{}
	valued := 0 // columns of grades, counts or yes or no, as a sheet with a row a look has
	for _, c := range t.Columns() {
		is := ""
		if ours := matched[c.Name]; len(ours) > 0 {
			is = ours[0]
		}
		value := slices.Contains([]string{"grade", "count", "present"}, is)
		if value {
			valued++
		}
		if look, ok := lookNamed(c.Name); ok && (is == "" || value) && holdsLooks(c) {
			out[c.Name] = look
		}
	}
	sure := 0
	for name, look := range out {
		if look.sure && matched[name] == nil {
			sure++
		}
	}
	if sure == 0 && (len(out) < 2 || valued > 0) {
		return nil
	}
	counted(t, out)
	return out
}

// lookNamed reads the name of a column: a part, a trace, an observer.
func lookNamed(name string) (proposedLook, bool) {
	var look proposedLook
	for _, piece := range reBetween.Split(name, -1) {
		if !look.read(piece) {
			for _, word := range strings.Fields(piece) {
				if !look.read(word) {
					return look, false
				}
			}
		}
	}
	return look, look.sure || look.Observer != ""
}

// read takes a piece of a name; false where it tells nothing.
func (l *proposedLook) read(piece string) bool {
	piece = strings.TrimSpace(piece)
	word := plainWord(piece)
	first, _, _ := strings.Cut(piece, " ")
	switch {
	case piece == "":
		return true
	case l.Part == "" && in(partWords, word):
		l.Part, l.sure = strings.ToLower(piece), true
	case l.Trace == "" && in(traceWords, word):
		l.Trace, l.sure = strings.ToLower(piece), true
	case l.Observer == "" && (reInitials.MatchString(piece) || first != piece && in(columnWords["observer"], plainWord(first))):
		l.Observer = piece
	default:
		return false
	}
	return true
}

// mostLookValues is how many different values, beside numbers, a column of looks has.
const mostLookValues = 12

// holdsLooks tells whether the cells of a column are such as looks are: a few words or
// numbers again and again.
func holdsLooks(c *table.Column) bool {
	levels, _ := c.Levels()
	words := 0
	for _, label := range levels {
		v, err := strconv.ParseFloat(strings.Replace(label, ",", ".", 1), 64)
		switch {
		case err == nil && v != math.Trunc(v):
			return false // a density
		case label == "" || err == nil || strings.HasPrefix(label, untold):
		case utf8.RuneCountInString(label) > 40:
			return false
		default:
			words++
		}
	}
	return len(levels) > 0 && words <= mostLookValues
}

// counted takes traces for counted whose cells are numbers, where their name or a large
// one of these tells so.
func counted(t *table.Table, looks map[string]proposedLook) {
	numbers, large := map[string]bool{}, map[string]bool{}
	for name, look := range looks {
		if _, known := numbers[look.Trace]; !known {
			numbers[look.Trace] = true
		}
		large[look.Trace] = large[look.Trace] || in(countedWords, plainWord(look.Trace))
		levels, _ := t.Column(name).Levels()
		for _, label := range levels {
			n, err := strconv.Atoi(label)
			numbers[look.Trace] = numbers[look.Trace] && (err == nil || label == "" || strings.HasPrefix(label, untold))
			large[look.Trace] = large[look.Trace] || n > mostGrades
		}
	}
	for name, look := range looks {
		if numbers[look.Trace] && large[look.Trace] {
			look.Kind = mixed.Counts
			looks[name] = look
		}
	}
}

// mostGrades is the largest number that is taken for a grade (common practice, no
// source).
const mostGrades = 6

// says is what stands in the braces.
func (l proposedLook) says() string {
	var parts []string
	for _, k := range []struct{ key, value string }{{"trace", l.Trace}, {"part", l.Part}, {"observer", l.Observer}, {"kind", l.Kind}} {
		if k.value != "" {
			parts = append(parts, fmt.Sprintf("%s = %q", k.key, k.value))
		}
	}
	return strings.Join(parts, ", ")
}

// example shows cells of a column, one of each value.
func (l proposedLook) example(c *table.Column) string {
	levels, _ := c.Levels()
	var some []string
	for _, label := range slices.Sorted(slices.Values(levels)) {
		if label != "" && len(some) < 4 {
			some = append(some, strconv.Quote(strings.Join(strings.Fields(label), " ")))
		}
	}
	return cmp.Or(strings.Join(some, ", "), "nothing")
}

// toldByLooks are the columns of ours that all columns of looks tell.
func toldByLooks(looks map[string]proposedLook) []string {
	trace, observer := true, true
	for _, look := range looks {
		trace, observer = trace && look.Trace != "", observer && look.Observer != ""
	}
	out := []string{"grade"}
	if trace {
		out = append(out, "trace")
	}
	if observer {
		out = append(out, "observer")
	}
	return out
}
