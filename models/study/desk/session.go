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
	work[Step]
	alarms []Step
	last   time.Time // of the last reading
}

// placings are what is said of readings.
var placings = words{one: "placing", many: "placings", all: "All placings are done.", ways: ", t to the tile", help: Help,
	nothing: "Nothing has been read since the program was started. To leave an earlier reading out, write why in its column excluded."}

// Begin opens the table and finds what of the sheet is done: a session that was
// ended, in whatever way, goes on where it was.
func Begin(o Options) (*Session, error) {
	t, err := openTable(o.Table, readings.ReadingsSchema())
	if err != nil {
		return nil, err
	}
	s := &Session{Options: o, work: begin[Step](t, o.Books, o.Now(), placings)}
	if o.Sheet != nil {
		s.plan(o.Sheet.Day, o.Sheet.Steps)
	}
	for _, row := range t.rows {
		c := s.cellOf(row)
		if c.day != s.day || c.observer != o.Observer || c.instrument != o.Instrument.ID || t.cell(row, "excluded") == takenBack {
			continue
		}
		of := Step{Book: c.book, Page: c.page, Target: readings.Target(c.target)}
		if i := slices.IndexFunc(s.steps, func(p planned[Step]) bool { return !p.done && p.step.same(of) }); i >= 0 {
			s.steps[i].done = true
		}
	}
	return s, nil
}

// Run asks for reading after reading until lines end or the observer does. Each
// line is a density or a command; see [Help].
func (s *Session) Run(lines <-chan string, out io.Writer) error {
	return s.run(lines, out, s)
}

func (s *Session) opening() []string {
	return []string{fmt.Sprintf("%s, %s with %s. Readings go to %s, each before the next is asked for. h lists the commands.", s.day, cmp.Or(s.Observer, "no observer named"), s.Instrument.ID, s.Table)}
}

func (s *Session) askFor(step Step) {
	n, of := 0, 0
	for i, other := range s.steps {
		if other.step.same(step) && (other.step.Target != readings.OnTile || s.together(i)) {
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
	return !slices.ContainsFunc(s.steps[from:to], func(p planned[Step]) bool { return p.step.Target != readings.OnTile })
}

// enter puts a reading on disk and says what is odd in it.
func (s *Session) enter(density, excluded string) error {
	next := s.next()
	if next == nil {
		s.say("Name a page first: p 12r.")
		return nil
	}
	now, step := s.Now().Truncate(time.Second), next.step
	if !now.After(s.last) { // an instrument that sends its numbers at once: two placings have two times
		now = s.last.Add(time.Second)
	}
	s.last = now
	note := strings.Join(slices.DeleteFunc([]string{step.Note, s.note}, func(words string) bool { return words == "" }), "; ")
	err := s.record(map[string]string{
		"book": step.Book, "page": step.Page, "date": s.day, "time": now.Format(time.TimeOnly), "instrument": s.Instrument.ID, "observer": s.Observer,
		"target": string(step.Target), "spot": string(step.Spot), "density": density, "excluded": excluded, "note": note,
	}, now)
	if err != nil {
		return err
	}
	next.done = excluded == ""
	if words := s.alarm(step); words != "" && excluded == "" {
		s.alarms = append(s.alarms, step)
		s.say("  ! %s", words)
	}
	return nil
}

// extra asks for one more placing of the kind last made.
func (s *Session) extra() {
	if len(s.taken) == 0 {
		s.say("Make a placing first.")
		return
	}
	at := s.taken[len(s.taken)-1].step
	more := s.steps[at].step
	more.Note = "extra"
	s.insert(at+1, more)
	s.at = at + 1
}

// insert puts steps in at a place.
func (s *Session) insert(at int, steps ...Step) {
	for k, step := range steps {
		s.steps = slices.Insert(s.steps, at+k, planned[Step]{step: step})
	}
	for i := range s.taken {
		if s.taken[i].step >= at {
			s.taken[i].step += len(steps)
		}
	}
}

// skip goes on to the next place; what was left comes again at the end.
func (s *Session) skip() {
	if name, ok := s.passOver(); ok {
		s.say("  %s is passed over, and comes again at the end.", wording.Capital(name))
	}
}

// goTo goes to a page, and says which are passed over on the way.
func (s *Session) goTo(words string) {
	book, page, to, ok := s.page(words)
	if !ok {
		return
	}
	if to < 0 {
		s.insertPage(book, page)
		return
	}
	var passed []string
	for _, p := range s.steps[min(s.at, to):to] {
		if name := p.step.where(); !p.done && !slices.Contains(passed, name) {
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
	if slices.ContainsFunc(s.steps, func(p planned[Step]) bool { return p.done && p.step.place() == [2]string{book, page} }) {
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
