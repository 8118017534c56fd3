package desk

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// Options are what a session is begun with.
type Options struct {
	Table      string // path of the table that readings go to; it is begun where it is not there
	Books      []*codex.Book
	Instrument readings.Instrument
	Observer   string
	Sheet      *Sheet // placings to make; nil where the observer names each page
	Zeros      int    // placings on the zero of a page that the observer names …
	Placings   int    // … and on its thumbed corner
	Now        func() time.Time
}

// A Session is a day's readings at the desk.
type Session struct {
	Options
	day    string
	table  *deskTable
	steps  []Step
	at     int     // index into steps of the placing that is asked for
	book   string  // of the last page
	note   string  // for the next reading
	taken  []taken // in this session, in order
	alarms []Step
	shown  [2]string // the place last named

	console
}

// A taken is a reading taken in this session.
type taken struct {
	row, step int
	when      time.Time
}

// Begin opens the table and finds what of the sheet is done: a session that was
// ended, in whatever way, goes on where it was.
func Begin(o Options) (*Session, error) {
	t, err := openTable(o.Table, readings.ReadingsSchema(), "a reading")
	if err != nil {
		return nil, err
	}
	s := &Session{Options: o, table: t, day: o.Now().Format(time.DateOnly)}
	if len(o.Books) > 0 {
		s.book = o.Books[0].ID
	}
	if o.Sheet != nil {
		s.steps = slices.Clone(o.Sheet.Steps)
	}
	for _, row := range t.rows {
		c := s.cellOf(row)
		if c.day != s.day || c.observer != o.Observer || c.instrument != o.Instrument.ID || t.cell(row, "excluded") == takenBack {
			continue
		}
		of := Step{Book: c.book, Page: c.page, Target: readings.Target(c.target)}
		if i := slices.IndexFunc(s.steps, func(p Step) bool { return !p.done && p.same(of) }); i >= 0 {
			s.steps[i].done = true
		}
	}
	return s, nil
}

// takenBack is why a reading that was taken back is left out.
const takenBack = "taken back at the desk"

// Run asks for reading after reading until lines end or the observer does. Each
// line is a density or a command; see [Help].
func (s *Session) Run(lines <-chan string, out io.Writer) error {
	return s.run(lines, out, s.opening, s.prompt, s.take)
}

// opening is what is said before the first placing.
func (s *Session) opening() string {
	words := append([]string{}, s.table.notes...)
	words = append(words, fmt.Sprintf("%s, %s with %s. Readings go to %s, each before the next is asked for. h lists the commands.", s.day, cmp.Or(s.Observer, "no observer named"), s.Instrument.ID, s.Table))
	if s.Sheet != nil && s.Sheet.Day != s.day {
		words = append(words, fmt.Sprintf("The sheet plans these placings for %s; they are entered under today's date.", s.Sheet.Day))
	}
	if done := len(s.steps) - s.left(); done > 0 {
		words = append(words, fmt.Sprintf("%s of the sheet are done already.", wording.Count(done, "placing", "placings")))
	}
	return strings.Join(words, "\n")
}

// next is the placing to ask for: the first that is not done from here on, then
// from the beginning; nil where all are.
func (s *Session) next() *Step {
	for k := range s.steps {
		if i := (s.at + k) % len(s.steps); !s.steps[i].done {
			s.at = i
			return &s.steps[i]
		}
	}
	return nil
}

func (s *Session) left() (n int) {
	for _, step := range s.steps {
		if !step.done {
			n++
		}
	}
	return n
}

// prompt asks for the next placing, or for a page.
func (s *Session) prompt() {
	step := s.next()
	if step == nil {
		s.shown = [2]string{}
		words := ""
		if len(s.steps) > 0 {
			words = "All placings are done. "
		}
		s.ask("\n%sp 12r goes to a page of %s, t to the tile, q ends the day > ", words, s.book)
		return
	}
	if step.place() != s.shown {
		s.shown = step.place()
		s.say("\n%s%s", step.where(), s.remaining())
	}
	n, of := 0, 0
	for i, other := range s.steps {
		if other.same(*step) && (other.Target != readings.OnTile || s.together(i)) {
			of++
			if other.done || i == s.at {
				n++
			}
		}
	}
	s.ask("  %s, %d of %d > ", step.on(), n, of)
}

// together tells whether a placing on the tile stands in one run with the one asked
// for.
func (s *Session) together(i int) bool {
	from, to := min(i, s.at), max(i, s.at)
	return !slices.ContainsFunc(s.steps[from:to], func(o Step) bool { return o.Target != readings.OnTile })
}

// remaining tells how much is left, and how long it will take at the pace of this
// session.
func (s *Session) remaining() string {
	times := make([]time.Time, len(s.taken))
	for i, t := range s.taken {
		times[i] = t.when
	}
	return leftWords(wording.Count(s.left(), "placing", "placings"), s.left(), times)
}

// enter puts a reading on disk and says what is odd in it.
func (s *Session) enter(density, excluded string) error {
	step := s.next()
	if step == nil {
		s.say("Name a page first: p 12r.")
		return nil
	}
	now := s.Now()
	note := strings.Join(slices.DeleteFunc([]string{step.Note, s.note}, func(words string) bool { return words == "" }), "; ")
	err := s.table.add(map[string]string{
		"book": step.Book, "page": step.Page, "date": s.day, "time": now.Format(time.TimeOnly), "instrument": s.Instrument.ID, "observer": s.Observer,
		"target": string(step.Target), "spot": string(step.Spot), "density": density, "excluded": excluded, "note": note,
	})
	if err != nil {
		return err
	}
	s.note = ""
	step.done = excluded == ""
	s.taken = append(s.taken, taken{len(s.table.rows) - 1, s.at, now})
	if words := s.alarm(*step); words != "" && excluded == "" {
		s.alarms = append(s.alarms, *step)
		s.say("  ! %s", words)
	}
	return nil
}

// undo takes the last reading of the session back.
func (s *Session) undo() error {
	if len(s.taken) == 0 {
		s.say("Nothing has been read since the program was started. To leave an earlier reading out, write why in its column excluded.")
		return nil
	}
	last := s.taken[len(s.taken)-1]
	if err := s.table.exclude(last.row, takenBack); err != nil {
		return err
	}
	s.taken = s.taken[:len(s.taken)-1]
	s.steps[last.step].done = false
	s.at = last.step
	s.say("  Taken back; the row stays in the table, left out with that reason.")
	return nil
}

// extra asks for one more placing of the kind last made.
func (s *Session) extra() {
	if len(s.taken) == 0 {
		s.say("Make a placing first.")
		return
	}
	at := s.taken[len(s.taken)-1].step
	more := s.steps[at]
	more.done, more.Note = false, "extra"
	s.insert(at+1, more)
	s.at = at + 1
}

// insert puts steps in at a place.
func (s *Session) insert(at int, steps ...Step) {
	s.steps = slices.Insert(s.steps, at, steps...)
	for i := range s.taken {
		if s.taken[i].step >= at {
			s.taken[i].step += len(steps)
		}
	}
}

// skip goes on to the next place; what was left comes again at the end.
func (s *Session) skip() {
	step := s.next()
	if step == nil {
		return
	}
	here := step.place()
	for range s.steps {
		if s.at = (s.at + 1) % len(s.steps); s.steps[s.at].place() != here && !s.steps[s.at].done {
			break
		}
	}
	s.say("  %s is passed over, and comes again at the end.", wording.Capital(Step{Book: here[0], Page: here[1], Target: step.Target}.where()))
}

// goTo goes to a page, and says which are passed over on the way.
func (s *Session) goTo(words string) {
	book, page := pageIn(s.Books, s.book, words)
	label, err := findPage(s.Books, book, page)
	if err != nil {
		s.say("  %s.", wording.Capital(err.Error()))
		return
	}
	s.book = book
	to := slices.IndexFunc(s.steps, func(o Step) bool { return !o.done && o.Book == book && o.Page == label })
	if to < 0 {
		s.insertPage(book, label)
		return
	}
	var passed []string
	for _, o := range s.steps[min(s.at, to):to] {
		if name := o.where(); !o.done && !slices.Contains(passed, name) {
			passed = append(passed, name)
		}
	}
	if len(passed) > 0 {
		s.say("  Passed over, to come again at the end: %s.", wording.List(passed))
	}
	s.at = to
}

// insertPage asks for a page that is not on the sheet, or is done: its placings are
// then extra.
func (s *Session) insertPage(book, page string) {
	note := ""
	if s.Sheet != nil {
		note = "not on the sheet"
	}
	if slices.ContainsFunc(s.steps, func(o Step) bool { return o.done && o.Book == book && o.Page == page }) {
		note = "extra"
	}
	var steps []Step
	for range s.Zeros {
		steps = append(steps, Step{Book: book, Page: page, Target: readings.OnZero, Note: note})
	}
	for range s.Placings {
		steps = append(steps, Step{Book: book, Page: page, Target: readings.OnPage, Spot: readings.Fixed, Note: note})
	}
	s.put(steps...)
}

// put asks for further steps now.
func (s *Session) put(steps ...Step) {
	s.at = min(s.at, len(s.steps))
	if s.next() == nil {
		s.at = len(s.steps)
	}
	s.insert(s.at, steps...)
}
