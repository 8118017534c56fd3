package desk

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// CodingOptions are what a session of looks is begun with.
type CodingOptions struct {
	Table    string // path of the table that looks go to; it is begun where it is not there
	Books    []*codex.Book
	Coding   []traces.Trace
	Observer string
	Sheet    *CodingSheet // looks to take; nil where the observer names each page
	Now      func() time.Time
}

// A LookStep is one look to take.
type LookStep struct {
	Book, Page, Part, Trace string

	trace *traces.Trace
}

func (s LookStep) place() [2]string { return [2]string{s.Book, s.Page} }

func (s LookStep) where() string { return inWords(s.place()) }

// same tells whether two looks are at one thing.
func (s LookStep) same(o LookStep) bool {
	return s.place() == o.place() && s.Part == o.Part && s.Trace == o.Trace
}

// A CodingSheet is the looks of one observer on one day, in their order.
type CodingSheet struct {
	Day      string // that they are planned for
	Observer string
	Steps    []LookStep
}

// ReadCodingSheet reads a sheet as the verb sheet --traces writes it, a table of looks
// with their values empty, and gives those of the observer on the day that is wanted:
// the one planned for today, or else the first. Of several observers one must be named.
func ReadCodingSheet(path, today, observer string, books []*codex.Book, coding []traces.Trace) (*CodingSheet, error) {
	var ps table.Problems
	t := openSheet(path, traces.Schema(), books, &ps)
	if t == nil {
		return nil, ps.Err()
	}
	observers, _ := t.Column("observer").Levels()
	slices.Sort(observers)
	switch {
	case len(observers) == 0:
		return nil, fmt.Errorf("%s holds no look to take", path)
	case observer == "" && len(observers) == 1:
		observer = observers[0]
	case !slices.Contains(observers, observer):
		return nil, fmt.Errorf("%s plans looks of %s: say which of them looks, such as --observer %s", path, wording.List(observers), observers[0])
	}
	day, rows := t.onDay(today, t.rowsWhere(func(i int) bool { return t.label("observer", i) == observer }))
	s := &CodingSheet{Day: day, Observer: observer}
	for _, i := range rows {
		step := LookStep{Book: t.label("book", i), Page: t.label("page", i), Part: t.label("part", i), Trace: t.label("trace", i)}
		if step.trace = named(coding, step.Trace); step.trace == nil {
			t.wrong(i, "trace", "a trace of the coding book", "make the sheet anew")
		}
		t.checkPage(i)
		s.Steps = append(s.Steps, step)
	}
	return s, ps.Err()
}

func named(coding []traces.Trace, name string) *traces.Trace {
	if i := slices.IndexFunc(coding, func(t traces.Trace) bool { return t.Name == name }); i >= 0 {
		return &coding[i]
	}
	return nil
}

// A Coding is a day's looks at the desk. What other observers saw, or the same on
// another day, is not shown: looks at one thing must not know of each other.
type Coding struct {
	CodingOptions
	work[LookStep]
	told map[string]bool // traces whose grades were told
}

// looks are what is said of looks.
var looks = words{one: "look", many: "looks", all: "All looks are taken.", help: CodingHelp,
	nothing: "Nothing was looked at since the program was started. To leave an earlier look out, write why in its column excluded."}

// BeginCoding opens the table and finds what is done: a session that was ended, in
// whatever way, goes on where it was.
func BeginCoding(o CodingOptions) (*Coding, error) {
	if o.Observer == "" {
		return nil, fmt.Errorf("who looks is not said: give --observer, since observers grade differently")
	}
	t, err := openTable(o.Table, traces.Schema())
	if err != nil {
		return nil, err
	}
	s := &Coding{CodingOptions: o, work: begin[LookStep](t, o.Books, o.Now(), looks), told: map[string]bool{}}
	if o.Sheet != nil {
		s.plan(o.Sheet.Day, o.Sheet.Steps)
	}
	for i := range s.steps {
		s.steps[i].done = s.looked(s.steps[i].step)
	}
	return s, nil
}

// today are the rows of this observer and day that were not taken back.
func (s *Coding) today() (out []LookStep, rows []int) {
	for i, row := range s.table.rows {
		at := func(column string) string { return s.table.cell(row, column) }
		if at("observer") == s.Observer && at("date") == s.day && at("excluded") == "" {
			out, rows = append(out, LookStep{Book: at("book"), Page: at("page"), Part: at("part"), Trace: at("trace")}), append(rows, i)
		}
	}
	return out, rows
}

// looked tells whether the observer looked at a thing today.
func (s *Coding) looked(step LookStep) bool {
	looks, _ := s.today()
	return slices.ContainsFunc(looks, step.same)
}

// Run asks for look after look until lines end or the observer does.
func (s *Coding) Run(lines <-chan string, out io.Writer) error { return s.run(lines, out, s) }

func (s *Coding) opening() []string {
	return []string{fmt.Sprintf("%s, %s. Looks go to %s, each before the next is asked for. h lists the commands, g the grades.", s.day, s.Observer, s.Table),
		"Look, do not touch: raking light and magnification as the library allows."}
}

func (s *Coding) askFor(step LookStep) {
	if !s.told[step.Trace] {
		s.told[step.Trace] = true
		s.say("%s", gradesOf(step.trace))
	}
	what := step.Trace
	if step.Part != "" {
		what += ", " + step.Part
	}
	s.ask("  %s: %s > ", what, choices(step.trace))
}

// choices are what may be typed, in brief.
func choices(t *traces.Trace) string {
	var parts []string
	for k, level := range t.Levels() {
		parts = append(parts, fmt.Sprintf("%d %s", k, level))
	}
	switch {
	case parts != nil:
		return strings.Join(parts, ", ")
	case t.Per != "":
		return "count and " + t.Per
	}
	return "count"
}

// gradesOf tells what the coding book says of a trace.
func gradesOf(t *traces.Trace) string {
	lines := []string{"  " + t.Name + ": " + t.About}
	for k, g := range t.Grades {
		lines = append(lines, fmt.Sprintf("    %d %s: %s", k, g.Name, g.About))
	}
	if t.One != "" {
		lines = append(lines, "    one is "+t.One)
	}
	return strings.Join(lines, "\n")
}

// CodingHelp lists what a line may say.
const CodingHelp = `  2             the number of the grade, or its name, or how it begins; 0 or no, 1 or
                yes; of counts how many, with an exposure 3 12.5
  x the reason  it cannot be told: x faded; never the lowest grade in its place
  u             take the last look back (its row stays, left out with that reason)
  p 14v         go to a page, of another book with its name: p Corvaes 14v
  s             pass this page over; it comes again at the end
  n words       a note on the next look
  g             what each grade means
  w             what is left
  q             end the day, with its summary`

// other does what a line says that is no command of all kinds: what was seen, mostly.
func (s *Coding) other(word, rest, line string) error {
	switch word {
	case "x":
		if strings.IndexFunc(rest, unicode.IsLetter) < 0 {
			s.say("  Write the reason behind it: x under a stain.")
			return nil
		}
		return s.enter(map[string]string{"unclear": rest})
	case "g":
		for i := range s.CodingOptions.Coding {
			s.say("%s", gradesOf(&s.CodingOptions.Coding[i]))
		}
		return nil
	}
	next := s.next()
	if next == nil {
		s.say("Name a page first: p 12r.")
		return nil
	}
	cells, problem := valueOf(next.step.trace, line)
	if problem != "" {
		s.say("  %s", problem)
		return nil
	}
	return s.enter(cells)
}

// mostAtDesk is the largest count that a line may say; more is a slip of the finger.
const mostAtDesk = 999

// valueOf reads what was seen of a trace; problem says what is wrong with it.
func valueOf(t *traces.Trace, line string) (cells map[string]string, problem string) {
	levels := t.Levels()
	if levels == nil {
		count, exposure, _ := strings.Cut(line, " ")
		exposure = strings.Replace(strings.TrimSpace(exposure), ",", ".", 1)
		n, err := strconv.Atoi(count)
		size, failed := strconv.ParseFloat(exposure, 64)
		switch {
		case err != nil || n < 0 || n > mostAtDesk:
			return nil, fmt.Sprintf("%q is no count from 0 to %d and no command; h lists the commands.", line, mostAtDesk)
		case t.Per == "" && exposure != "":
			return nil, "The coding book gives " + t.Name + " no exposure: write the count alone."
		case t.Per != "" && (failed != nil || !(size > 0) || math.IsInf(size, 0)):
			return nil, "Write the count and how much was looked at, above 0 (" + t.Per + "): 3 12.5."
		}
		return map[string]string{"count": strconv.Itoa(n), "exposure": exposure}, ""
	}
	if k, err := strconv.Atoi(line); err == nil && k >= 0 && k < len(levels) {
		return map[string]string{t.Column(): levels[k]}, ""
	}
	var fits []string
	for _, level := range levels {
		if strings.EqualFold(level, line) {
			return map[string]string{t.Column(): level}, ""
		}
		if len(line) <= len(level) && strings.EqualFold(level[:len(line)], line) {
			fits = append(fits, level)
		}
	}
	switch len(fits) {
	case 1:
		return map[string]string{t.Column(): fits[0]}, ""
	case 0:
		return nil, fmt.Sprintf("%q is none of: %s. g tells what each means; x with a reason where it cannot be told.", line, choices(t))
	}
	return nil, fmt.Sprintf("%q may be %s: write more of it.", line, wording.List(fits))
}

// enter puts a look on disk.
func (s *Coding) enter(values map[string]string) error {
	next := s.next()
	if next == nil {
		s.say("Name a page first: p 12r.")
		return nil
	}
	step := next.step
	cells := map[string]string{"book": step.Book, "page": step.Page, "part": step.Part, "trace": step.Trace, "observer": s.Observer, "date": s.day, "note": s.note}
	maps.Copy(cells, values)
	if err := s.record(cells, s.Now()); err != nil {
		return err
	}
	next.done = true
	s.say("    %s", cmp.Or(values["grade"], values["present"], values["count"], "cannot be told: "+values["unclear"]))
	return nil
}

// skip goes on to the next page; what was left comes again at the end.
func (s *Coding) skip() {
	if name, ok := s.passOver(); ok {
		s.say("  %s is passed over, and comes again at the end.", name)
	}
}

// goTo goes to a page: to what the sheet asks of it, or to all that the coding book
// looks for on it.
func (s *Coding) goTo(words string) {
	book, page, to, ok := s.page(words)
	if !ok {
		return
	}
	if to >= 0 {
		s.at = to
		return
	}
	b := s.Books[slices.IndexFunc(s.Books, func(b *codex.Book) bool { return b.ID == book })]
	at := slices.IndexFunc(b.Pages, func(p codex.Page) bool { return p.Label.String() == page })
	end, done := len(s.steps), 0
	for _, item := range traces.Items(s.CodingOptions.Coding, &b.Pages[at]) {
		step := LookStep{Book: book, Page: page, Part: item.Part, Trace: item.Trace.Name, trace: item.Trace}
		if s.looked(step) {
			done++
		} else {
			s.steps = append(s.steps, planned[LookStep]{step: step})
		}
	}
	switch {
	case len(s.steps) > end:
		s.at = end
	case done > 0:
		s.say("  All of %s, f. %s was looked at today. A second look belongs on another day, when the first is forgotten.", book, page)
	default:
		s.say("  The coding book looks for nothing on %s, f. %s.", book, page)
	}
}

// twiceShare is the share of a day's pages to be looked at once more (common practice,
// no source): one of so many.
const twiceShare = 5

// Again draws the pages to look at again, by another observer or on another day. The
// draw is that of the day and the observer: asked for twice it is the same.
func (s *Coding) Again() []Page {
	var all []Page
	looks, _ := s.today()
	for _, l := range looks {
		if p := (Page{l.Book, l.Page}); !slices.Contains(all, p) {
			all = append(all, p)
		}
	}
	drawn := s.draws(s.Observer, len(all)).Perm(len(all))[:(len(all)+twiceShare-1)/twiceShare]
	slices.Sort(drawn)
	out := make([]Page, len(drawn))
	for k, i := range drawn {
		out[k] = all[i]
	}
	return out
}

// Summary tells what the day brought.
func (s *Coding) Summary() string {
	looks, rows := s.today()
	var lines []string
	pages := map[Page]bool{}
	for i := range s.CodingOptions.Coding {
		t := &s.CodingOptions.Coding[i]
		n, unclear, sum := 0, 0, 0
		given := map[string]int{}
		for k, l := range looks {
			if l.Trace != t.Name {
				continue
			}
			pages[Page{l.Book, l.Page}] = true
			n++
			value := s.table.cell(s.table.rows[rows[k]], t.Column())
			given[value]++
			if value == "" {
				unclear++
			}
			if count, err := strconv.Atoi(value); err == nil && t.Kind == mixed.Counts {
				sum += count
			}
		}
		if n == 0 {
			continue
		}
		var told []string
		for _, level := range t.Levels() {
			told = append(told, fmt.Sprintf("%s %d", level, given[level]))
		}
		if t.Kind == mixed.Counts {
			told = append(told, fmt.Sprintf("%d in all", sum))
		}
		lines = append(lines, fmt.Sprintf("  %s, %s: %s; %d cannot be told.", t.Name, wording.Count(n, "look", "looks"), strings.Join(told, ", "), unclear))
	}
	lines = append([]string{fmt.Sprintf("%s: %s at %s by %s.", s.day, wording.Count(len(looks), "look", "looks"), wording.Count(len(pages), "page", "pages"), s.Observer)}, lines...)
	return s.ending(lines, s.Again(), "Look at these again on another day, by another observer where there is one: %s. They are drawn at random, and tell how far looks agree.")
}
