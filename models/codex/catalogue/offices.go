package catalogue

import (
	"regexp"
	"strings"

	"thumbed/models/codex"
)

// reOffice finds an office and the leaf on which it begins in what is said of
// hours: Matins, fol. 28r; Lauds (f. 52r).
var reOffice = regexp.MustCompile(`(?i)(?:^|[;,.(:] ?|\band )(?:at |for |to )?(\p{L}+),? ?[,:(]? ?(?:on )?(?:fols?|ff?|bl|c)\. ?(\d+ ?[rv]?)\b`)

// fewestOffices is how many offices a remark on hours must place before it is read as
// the list of them, mostOffices how many one on any other text.
const fewestOffices, mostOffices = 3, 5

// offices makes parts of hours of the offices that a remark on them places.
func offices(items []*Item) {
	walk(items, func(item *Item) {
		if len(item.Children) > 0 {
			return
		}
		fewest := mostOffices
		if kind := kindOf(item.Title); kind == kindHours || kind == kindDead {
			fewest = fewestOffices
		}
		for _, note := range item.Notes {
			var parts []*Item
			different := map[string]bool{}
			for _, found := range reOffice.FindAllStringSubmatch(note.Text, -1) {
				office, err := codex.ParseOffice(found[1])
				l, ok := ParseLocus(strings.ReplaceAll(found[2], " ", ""))
				title := office.String()
				if err != nil && strings.EqualFold(found[1], "midnight") { // of Eastern hours
					title, err = "Midnight", nil
				}
				if err != nil || !ok {
					continue
				}
				parts = append(parts, &Item{Line: note.Line, Title: title, Loci: []codex.Range{{From: l.Ranges[0].From, To: l.Ranges[0].From}}, Begins: true, RunsOn: true})
			}
			for _, part := range parts {
				different[part.Title] = true
			}
			if len(different) >= fewest {
				item.Children = parts
				return
			}
		}
	})
}
