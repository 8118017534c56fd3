package catalogue

import (
	"regexp"
	"strings"
)

// A Beside is a text that is named beside another, and where it begins.
type Beside struct {
	Title string
	Locus Locus
}

var (
	reBesidePlace = regexp.MustCompile(`\(((?:fols?|ff?)\. ?\d{1,4} ?[rv]?)\)`)
	reJoined      = regexp.MustCompile(`^(.*?)\b(followed by|then)( the| an?| some)? (.*)$|^(.*)((?:,|\b(?:and|with))(?: (?:and|with))?)( the| an?)? ([^,]*)$`)
	reHeadOf      = regexp.MustCompile(`^((?:\p{L}+ ){1,3}of) `)
	reGoesOn      = regexp.MustCompile(`^ \p{Lu}\p{L}+(?: \p{Lu}\p{L}+)?`)
	reFollows     = regexp.MustCompile(`^ by (?:the |an? )?([^.,;:()]+)`)
	reNoBeside    = regexp.MustCompile(`^(?i:rubrics|music|notes|notation|musical|divided|dated|beginning|ending|starting|from|after|for|to|in|on|by|which|whose|among)\b`)
	reCapital     = regexp.MustCompile(`^\p{Lu}`)
	reFirstPart   = regexp.MustCompile(`[^.;:]{3}[.;:] `)
	reAbbreviated = regexp.MustCompile(`(?:\b(?:Sts?|SS|fols?|ff?|cf|art|no)|[^\p{L}\d)]\p{L})\. $`)
)

// longestBeside is how many words the name of a text beside another may have.
const longestBeside = 8

// NamedBeside reads the texts that the title of one names beside it, each with where it
// begins: Penitential (fol. 73) and Gradual (fol. 88) Psalms with the litany (fol. 101).
// The first of them is the text itself where placed is false, and its place is not told
// elsewhere; title is then what it is called alone.
func NamedBeside(words string, placed bool) (title string, texts []Beside) {
	words = firstPart(reSpaces.ReplaceAllString(words, " "))
	from, shared := 0, ""
	for i, at := range reBesidePlace.FindAllStringSubmatchIndex(words, -1) {
		l, ok := ParseLocus(words[at[2]:at[3]])
		before, goesOn := words[from:at[0]], reGoesOn.FindString(words[at[1]:])
		from = at[1]
		if !ok || !l.Lone() {
			return "", nil
		}
		if goesOn != "" {
			shared = goesOn
		}
		if i == 0 && !placed {
			title = strings.Trim(before, " ,")
			texts = append(texts, Beside{title, l})
			continue
		}
		first, name := besideParted(before, words, goesOn)
		if follows := reFollows.FindStringSubmatch(words[at[1]:]); follows != nil && strings.HasSuffix(name, "followed") {
			name = strings.TrimSpace(follows[1])
		}
		if name == "" || reNoBeside.MatchString(name) || len(strings.Fields(name)) > longestBeside || strings.Contains(name, "(") {
			return "", nil
		}
		if i == 0 {
			title = first
		}
		texts = append(texts, Beside{name, l})
	}
	if kindOf(title) == "" && kindOf(title+shared) != "" {
		title += shared // Penitential and Gradual Psalms
	}
	if !placed && len(texts) > 0 {
		texts[0].Title = title
	}
	return title, texts
}

// besideParted parts what stands before a place into what the text before is called and the
// name of the one that begins there, of which goesOn may stand behind the place.
func besideParted(before, words, goesOn string) (first, name string) {
	found := reJoined.FindStringSubmatch(" " + before)
	if found == nil {
		return "", ""
	}
	if found[2] != "" {
		found = found[:5]
	} else {
		found = found[4:]
	}
	first, name = strings.Trim(found[1], " ,"), strings.TrimSpace(found[4])
	head := reHeadOf.FindString(words)
	switch {
	case kindOf(name) != "":
	case strings.HasPrefix(name, "of ") && head != "":
		name = strings.TrimSuffix(head, "of ") + name
	case head != "" && strings.HasPrefix(found[2], "and") && reCapital.MatchString(name):
		name = strings.TrimSpace(head) + found[3] + " " + name
	default:
		name += goesOn
	}
	return first, name
}

// firstPart is a text up to its first full stop, colon or semicolon.
func firstPart(words string) string {
	for _, at := range reFirstPart.FindAllStringIndex(words, -1) {
		if !reAbbreviated.MatchString(words[:at[1]]) {
			return words[:at[1]-1]
		}
	}
	return words
}
