package desk

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// Help lists what a line may say.
const Help = `  0.34          the density that the instrument shows; a comma does as well
  u             take the last reading back (its row stays, left out with that reason)
  +             an extra placing of the kind just made
  p 14v         go to a page, of another book with its name: p Corvaes 14v
  s             pass this page over; it comes again at the end
  t             read the tile now
  x the reason  the placing failed: no density, with the reason
  n words       a note on the next reading
  w             what is left
  q             end the day, with its summary`

// take does what a line says; end tells that the day is over.
func (s *Session) take(line string) (end bool, err error) {
	if _, size := table.Unprintable([]byte(line)); size > 0 {
		s.say("  The line holds characters that show nothing, which no table may hold: type it again.")
		return false, nil
	}
	word, rest, _ := strings.Cut(line, " ")
	rest = strings.TrimSpace(rest)
	switch word {
	case "":
	case "u":
		err = s.undo()
	case "+":
		s.extra()
	case "p":
		s.goTo(rest)
	case "s":
		s.skip()
	case "t":
		s.put(Step{Target: readings.OnTile})
	case "x":
		if rest == "" {
			s.say("  Write the reason behind it: x the leaf is too stiff to lie flat.")
			return false, nil
		}
		if err = s.enter("", rest); err == nil {
			s.skipFailed()
		}
	case "n":
		s.note = rest
	case "w":
		s.say("%s", s.listLeft())
	case "h", "?":
		s.say("%s", Help)
	case "q":
		s.say("\n%s", s.Summary())
		return true, nil
	default:
		density, problem := s.density(line)
		if problem != "" {
			s.say("  %s", problem)
			return false, nil
		}
		err = s.enter(density, "")
	}
	return false, err
}

// skipFailed counts a placing that failed as made.
func (s *Session) skipFailed() {
	last := s.taken[len(s.taken)-1]
	s.steps[last.step].done = true
}

// shown is a line that an instrument sends or a person types: a number, with the
// name or the unit of the reading around it perhaps.
var shown = regexp.MustCompile(`^(?:[\pL]+[ \t]*[:=]?[ \t]*)?([+-]?[0-9]+(?:[.,][0-9]+)?)(?:[ \t]*[\pL]+)?$`)

// density reads a density as the instrument shows it; problem says what is wrong
// with one that it cannot show.
func (s *Session) density(line string) (density, problem string) {
	m := shown.FindStringSubmatch(line)
	if m == nil {
		return "", fmt.Sprintf("%q is no density and no command: write a number such as 0.34; h lists the commands.", line)
	}
	density = strings.TrimPrefix(strings.Replace(m[1], ",", ".", 1), "+")
	value, err := strconv.ParseFloat(density, 64)
	in := s.Instrument
	switch {
	case err != nil || !in.Shows(value):
		problem = fmt.Sprintf("%s cannot show %s: it reads from %g to %g.", in.ID, density, in.Floor, in.Ceiling)
		if !strings.Contains(density, ".") && in.Shows(value/100) && value > 0 {
			problem += fmt.Sprintf(" Is it %s?", strconv.FormatFloat(value/100, 'f', 2, 64))
		}
		return "", problem
	case !in.OnScale(value):
		return "", fmt.Sprintf("%s shows steps of %g: %s is none of them. Write the number as it stands.", in.ID, in.Resolution, density)
	case in.Limit(value) != readings.Measured:
		s.say("  This is the instrument's %s: the page is kept as a bound.", map[readings.Limit]string{readings.Below: "floor", readings.Above: "ceiling"}[in.Limit(value)])
	}
	return density, ""
}

// listLeft names the places that are left, in order.
func (s *Session) listLeft() string {
	var names []string
	seen := map[string]bool{}
	for k := range s.steps {
		step := s.steps[(s.at+k)%len(s.steps)]
		if name := step.where(); !step.done && !seen[name] {
			seen[name] = true
			names = append(names, name)
		}
	}
	return leftList(names, s.remaining())
}

// leftList tells which places are left.
func leftList(names []string, remaining string) string {
	if len(names) == 0 {
		return "  Nothing is left."
	}
	const most = 12
	if more := len(names) - most; more > 0 {
		names = append(names[:most], fmt.Sprintf("%d more places", more))
	}
	return "  Left" + remaining + ": " + wording.List(names) + "."
}
