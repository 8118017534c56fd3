package sheet

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
	"unicode"

	"thumbed/models/wording"
)

// months are the beginnings of the names of months in English, French, German,
// Italian, Spanish and Dutch, without accents (common practice, no source).
var months = [][]string{
	{"jan", "gen", "ene"}, {"feb", "fev"}, {"mar", "mrt", "maa"}, {"apr", "avr", "abr"}, {"may", "mai", "mag", "mei"}, {"jun", "juin", "giu"},
	{"jul", "juil", "lug"}, {"aug", "aou", "ago"}, {"sep", "set"}, {"oct", "okt", "ott"}, {"nov"}, {"dec", "dez", "dic"},
}

var (
	reDayName = regexp.MustCompile(`^(\d{1,2})(?:\.|st|nd|rd|th|er)?[ -]?(?:de )?(\p{L}{3,})\.?,?[ -]?(?:de )?(\d{4})$`)
	reNameDay = regexp.MustCompile(`^(\p{L}{3,})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})$`)
)

// namedMonth reads a day whose month is written as a word: 9. März 2026.
func namedMonth(text string) (string, bool) {
	day, name, year := "", "", ""
	if match := reDayName.FindStringSubmatch(text); match != nil {
		day, name, year = match[1], match[2], match[3]
	} else if match := reNameDay.FindStringSubmatch(text); match != nil {
		day, name, year = match[2], match[1], match[3]
	} else {
		return "", false
	}
	plain, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn))), strings.ToLower(name))
	month := slices.IndexFunc(months, func(names []string) bool {
		return slices.ContainsFunc(names, func(beginning string) bool { return strings.HasPrefix(plain, beginning) })
	})
	if err != nil || month < 0 {
		return "", false
	}
	at, err := time.Parse("2006-1-2", fmt.Sprintf("%s-%d-%s", year, month+1, day))
	return at.Format(time.DateOnly), err == nil
}

var (
	reHour      = regexp.MustCompile(`^(?i)(\d{1,2}) ?(?:h|uhr|u)\.? ?(?:(\d{2})(?: ?min\.?)?)?$`)
	reHourAfter = regexp.MustCompile(`^(?i)(\d{1,2}):(\d{2})(?::(\d{2}))? ?(?:h|uhr|u|hrs|o'clock)\.?$`)
	reClock     = regexp.MustCompile(`^(\d{1,2}):(\d{2})(?::(\d{2}))?$`)
	reNoon      = regexp.MustCompile(`^(?i)(\d{1,2})(?:[:.](\d{2}))? ?([ap])\.?m\.?$`)
	reHourPoint = regexp.MustCompile(`^(\d{1,2})[.](\d{1,2})$`)
)

// moments parts cells of text that hold a day and a time of day, where the column
// fills both: 9.3.2026 14:05.
func (t *tabulator) moments(c *column) {
	if !slices.Contains(c.names, "date") || !slices.Contains(c.names, "time") {
		return
	}
	for i := range c.cells {
		here := &c.cells[i]
		for k, mark := range here.text {
			if here.clock() != "" || (mark != ' ' && mark != 'T') {
				continue
			}
			day, rest := here.text[:k], here.text[k+1:]
			clock, ok := t.clock(rest)
			if match := reClock.FindStringSubmatch(rest); match != nil {
				clock, ok = clockAt(match[1], match[2], match[3])
			}
			if ok {
				*here = timed(strings.TrimRight(day, ", "), clock)
				break
			}
		}
	}
}

// times writes times of day that are text as 14:05: 14h05, 2:05 pm, 14:05 Uhr, and
// 14.05 where the mapping tells that times are written so.
func (t *tabulator) times(c *column) {
	if !slices.Contains(c.names, "time") {
		return
	}
	changed, example := 0, ""
	for i := range c.cells {
		here := &c.cells[i]
		if here.clock() != "" {
			continue
		}
		clock, ok := t.clock(here.text)
		if !ok {
			continue
		}
		if changed++; changed == 1 {
			example = here.text
		}
		*here = timed("", clock)
	}
	if changed > 0 {
		t.use(c.what(), "%s (%s) written as hour:minute", wording.Plain(changed, "time", "times"), example)
	}
}

// clock reads a time of day as the mapping tells that they are written.
func (t *tabulator) clock(text string) (string, bool) {
	if match := reHourPoint.FindStringSubmatch(text); match != nil && t.mapping != nil && t.mapping.Times == hourPoint && (t.told || len(match[2]) == 2) {
		// A workbook that holds the number 14.1 was given 14.10.
		return clockAt(match[1], (match[2] + "0")[:2], "00")
	}
	return clockOf(text)
}

// clockOf reads a time of day that can mean nothing else.
func clockOf(text string) (string, bool) {
	if match := reHour.FindStringSubmatch(text); match != nil {
		return clockAt(match[1], match[2], "00")
	}
	if match := reHourAfter.FindStringSubmatch(text); match != nil {
		return clockAt(match[1], match[2], match[3])
	}
	if match := reClock.FindStringSubmatch(text); match != nil && len(match[1]) == 1 {
		return clockAt(match[1], match[2], match[3])
	}
	match := reNoon.FindStringSubmatch(text)
	if match == nil {
		return "", false
	}
	hour, _ := strconv.Atoi(match[1]) // two figures
	if hour < 1 || hour > 12 {
		return "", false
	}
	hour %= 12
	if strings.EqualFold(match[3], "p") {
		hour += 12
	}
	return clockAt(strconv.Itoa(hour), match[2], "00")
}

// clockAt is a time of day; empty minutes and seconds are none.
func clockAt(hour, minute, second string) (string, bool) {
	at, err := time.Parse("15:4:5", hour+":"+orZero(minute)+":"+orZero(second))
	return moment(at, false, true).clock(), err == nil
}

func orZero(figures string) string {
	if figures == "" {
		return "0"
	}
	return figures
}

// units takes the marks behind numbers off that the mapping names.
func (t *tabulator) units(c *column) {
	if t.mapping == nil {
		return
	}
	names := c.names
	if t.mapping.Readings[c.header] != "" {
		names = Names{"density"}
	}
	for _, name := range names {
		unit := t.mapping.Units[name]
		if unit == "" {
			continue
		}
		taken := 0
		for i := range c.cells {
			number, has := strings.CutSuffix(c.cells[i].text, unit)
			if number = strings.TrimSpace(number); has && (reComma.MatchString(number) || rePoint.MatchString(number)) {
				c.cells[i].text = number
				taken++
			}
		}
		if taken > 0 {
			t.use(c.what(), "the unit %s behind %s", unit, wording.Plain(taken, "number", "numbers"))
		}
	}
}
