package table

import (
	"slices"
	"strings"
	"time"
)

// A form is how the cells of one kind are written.
type form struct {
	is       func(cell string) bool
	expected string
	advise   func(cell string) string // the remedy for a cell that is not so written
}

var forms = map[Kind]form{
	Integer: {isInteger, "a whole number", func(string) string { return "write digits only" }},
	Boolean: {isYesNo, "yes or no", adviseYesNo},
	Date:    {isDate, "a date such as 2026-03-09", adviseDate},
	Time:    {isTime, "a time of day such as 14:05", adviseTime},
}

func isNumber(cell string) bool {
	_, ok := parseNumber(cell)
	return ok
}

func isInteger(cell string) bool {
	rest := afterSign(cell)
	return rest != "" && digits(rest) == len(rest)
}

func isYesNo(cell string) bool { return cell == "yes" || cell == "no" }

func adviseYesNo(cell string) string {
	switch word := strings.ToLower(cell); {
	case slices.Contains([]string{"yes", "y", "true", "1", "x"}, word):
		return "write yes"
	case slices.Contains([]string{"no", "n", "false", "0"}, word):
		return "write no"
	}
	return "write yes or no, or leave the cell empty"
}

func isDate(cell string) bool {
	_, err := time.Parse(time.DateOnly, cell)
	return err == nil
}

func adviseDate(cell string) string {
	for _, layout := range []string{"2006-1-2", "2006/1/2", "2006.1.2"} {
		if day, err := time.Parse(layout, cell); err == nil {
			return "write " + day.Format(time.DateOnly)
		}
	}
	for _, layout := range []string{"2.1.2006", "2/1/2006", "2-1-2006", "2 January 2006", "2 Jan 2006"} {
		if day, err := time.Parse(layout, cell); err == nil {
			return "write " + day.Format(time.DateOnly) + ", if the day stands first"
		}
	}
	return "write year-month-day (ISO 8601)"
}

// isTime tells whether a cell is hours:minutes, or with :seconds, on the
// 24-hour clock.
func isTime(cell string) bool {
	if len(cell) != len("14:05") && len(cell) != len("14:05:30") {
		return false
	}
	for at := 0; at < len(cell); at += 3 {
		if digits(cell[at:at+2]) != 2 || at+2 < len(cell) && cell[at+2] != ':' {
			return false
		}
	}
	return cell[:2] < "24" && cell[3:5] < "60" && (len(cell) == 5 || cell[6:] < "60")
}

func adviseTime(cell string) string {
	for _, layout := range []string{"15:04", "15.04", "15h04", "15:04:05", "3:04 pm", "3:04pm"} {
		if at, err := time.Parse(layout, strings.ToLower(cell)); err == nil {
			return "write " + at.Format("15:04")
		}
	}
	return "write hours:minutes on the 24-hour clock"
}
