package report

import "thumbed/models/readings"

// boundWords stand before a page's wear where that is only a bound.
func boundWords(limit readings.Limit) string {
	switch limit {
	case readings.Below:
		return "at most "
	case readings.Above:
		return "at least "
	}
	return ""
}
