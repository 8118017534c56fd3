package desk

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"thumbed/models/readings"
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

// other does what a line says that is no command of all kinds: a density, mostly.
func (s *Session) other(word, rest, line string) error {
	switch word {
	case "+":
		s.extra()
	case "t":
		s.put(Step{Target: readings.OnTile})
	case "x":
		if rest == "" {
			s.say("  Write the reason behind it: x the leaf is too stiff to lie flat.")
			return nil
		}
		if err := s.enter("", rest); err != nil {
			return err
		}
		s.skipFailed()
	default:
		density, problem := s.density(line)
		if problem != "" {
			s.say("  %s", problem)
			return nil
		}
		return s.enter(density, "")
	}
	return nil
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
