package desk

import (
	"fmt"
	"hash/fnv"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"thumbed/models/codex"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// A step is one thing to do at a place: a placing, a look.
type step interface {
	place() [2]string // book and page: steps of one place follow each other
	where() string    // the place in words
}

// A planned step is to be done, or is.
type planned[S step] struct {
	step S
	done bool
}

// A taken step became a row of the table in this session.
type taken struct {
	row, step int
	when      time.Time
}

// words are what is said of steps of one kind.
type words struct {
	one, many string // a step: placing, placings
	all       string // said where none is left
	ways      string // where else than to a page one can go
	nothing   string // said where there is none to take back
	help      string
}

// work is what is done at the desk on a day, be it placings or looks: steps in their
// order, and the table whose rows they become, each on disk before the next is asked
// for.
type work[S step] struct {
	console
	words
	books     []*codex.Book
	table     *deskTable
	day       string
	plannedOn string // the day that the sheet plans the steps for; empty without a sheet
	steps     []planned[S]
	at        int     // index into steps of the one that is asked for
	book      string  // of the last page
	note      string  // for the next row
	taken     []taken // in order
	shown     [2]string
}

// hands do the steps of one kind.
type hands[S step] interface {
	opening() []string                   // what is said before the first step
	askFor(s S)                          // asks for a step
	skip()                               // goes on to the next place
	goTo(words string)                   // goes to a page
	other(word, rest, line string) error // does what a line says that is no command of all kinds
	Summary() string
}

// begin takes up the table of the day.
func begin[S step](t *deskTable, books []*codex.Book, now time.Time, w words) work[S] {
	out := work[S]{words: w, books: books, table: t, day: now.Format(time.DateOnly)}
	if len(books) > 0 {
		out.book = books[0].ID
	}
	return out
}

// plan takes the steps of a sheet.
func (w *work[S]) plan(day string, steps []S) {
	w.plannedOn = day
	for _, s := range steps {
		w.steps = append(w.steps, planned[S]{step: s})
	}
}

// run asks for step after step until lines end or the observer does.
func (w *work[S]) run(lines <-chan string, out io.Writer, h hands[S]) error {
	w.out = out
	w.say("%s", strings.Join(slices.Concat(w.table.notes, h.opening(), w.begun()), "\n"))
	for {
		w.prompt(h)
		line, open := <-lines
		if !open {
			w.say("")
			return nil
		}
		end, err := w.take(strings.TrimSpace(line), h)
		if err != nil || end {
			return err
		}
	}
}

// begun tells of which day the sheet is, and what of it is done.
func (w *work[S]) begun() (words []string) {
	if w.plannedOn != "" && w.plannedOn != w.day {
		words = append(words, fmt.Sprintf("The sheet plans these %s for %s; they are entered under today's date.", w.many, w.plannedOn))
	}
	if done := len(w.steps) - w.left(); done > 0 {
		words = append(words, fmt.Sprintf("%s of the sheet are done already.", wording.Count(done, w.one, w.many)))
	}
	return words
}

// prompt asks for the next step, or for a page.
func (w *work[S]) prompt(h hands[S]) {
	next := w.next()
	if next == nil {
		w.shown = [2]string{}
		words := ""
		if len(w.steps) > 0 {
			words = w.all + " "
		}
		w.ask("\n%sp 12r goes to a page of %s%s, q ends the day > ", words, w.book, w.ways)
		return
	}
	if next.step.place() != w.shown {
		w.shown = next.step.place()
		w.say("\n%s%s", next.step.where(), w.remaining())
	}
	h.askFor(next.step)
}

// take does what a line says; end tells that the day is over.
func (w *work[S]) take(line string, h hands[S]) (end bool, err error) {
	if _, size := table.Unprintable([]byte(line)); size > 0 {
		w.say("  The line holds characters that show nothing, which no table may hold: type it again.")
		return false, nil
	}
	word, rest, _ := strings.Cut(line, " ")
	rest = strings.TrimSpace(rest)
	switch word {
	case "":
	case "u":
		err = w.undo()
	case "p":
		h.goTo(rest)
	case "s":
		h.skip()
	case "n":
		w.note = rest
	case "w":
		w.say("%s", w.listLeft())
	case "h", "?":
		w.say("%s", w.help)
	case "q":
		w.say("\n%s", h.Summary())
		return true, nil
	default:
		err = h.other(word, rest, line)
	}
	return false, err
}

// next is the step to ask for: the first that is not done from here on, then from the
// beginning; nil where all are.
func (w *work[S]) next() *planned[S] {
	for k := range w.steps {
		if i := (w.at + k) % len(w.steps); !w.steps[i].done {
			w.at = i
			return &w.steps[i]
		}
	}
	return nil
}

func (w *work[S]) left() (n int) {
	for _, p := range w.steps {
		if !p.done {
			n++
		}
	}
	return n
}

// record puts the row of the step that is asked for on disk.
func (w *work[S]) record(cells map[string]string, when time.Time) error {
	if err := w.table.add(cells); err != nil {
		return err
	}
	w.note = ""
	w.taken = append(w.taken, taken{len(w.table.rows) - 1, w.at, when})
	return nil
}

// takenBack is why a row that was taken back is left out.
const takenBack = "taken back at the desk"

// undo takes the last step of the session back.
func (w *work[S]) undo() error {
	if len(w.taken) == 0 {
		w.say("%s", w.nothing)
		return nil
	}
	last := w.taken[len(w.taken)-1]
	if err := w.table.exclude(last.row, takenBack); err != nil {
		return err
	}
	w.taken = w.taken[:len(w.taken)-1]
	w.steps[last.step].done = false
	w.at = last.step
	w.say("  Taken back; the row stays in the table, left out with that reason.")
	return nil
}

// passOver goes on to the next place, and names the one that is passed over, whose
// steps come again at the end; ok is false where nothing is left.
func (w *work[S]) passOver() (name string, ok bool) {
	next := w.next()
	if next == nil {
		return "", false
	}
	here, name := next.step.place(), next.step.where()
	for range w.steps {
		if w.at = (w.at + 1) % len(w.steps); w.steps[w.at].step.place() != here && !w.steps[w.at].done {
			break
		}
	}
	return name, true
}

// page finds the page that a person names, and says what is wrong with a name that
// there is not; waiting is the first of the steps left on it, −1 where there is none.
func (w *work[S]) page(words string) (book, label string, waiting int, ok bool) {
	book, named := pageIn(w.books, w.book, words)
	label, err := findPage(w.books, book, named)
	if err != nil {
		w.say("  %s.", wording.Capital(err.Error()))
		return "", "", 0, false
	}
	w.book = book
	return book, label, slices.IndexFunc(w.steps, func(p planned[S]) bool { return !p.done && p.step.place() == [2]string{book, label} }), true
}

// pageIn parts what a person names: a page of the book that is at hand, or a book and a
// page of it.
func pageIn(books []*codex.Book, book, words string) (string, string) {
	if first, rest, two := strings.Cut(words, " "); two && slices.ContainsFunc(books, func(b *codex.Book) bool { return b.ID == first }) {
		return first, strings.TrimSpace(rest)
	}
	return book, words
}

// findPage finds a page that is still in its book by the words of the scholar, and
// gives its label as the book has it.
func findPage(books []*codex.Book, book, page string) (string, error) {
	var ids []string
	for _, b := range books {
		ids = append(ids, b.ID)
		if b.ID != book {
			continue
		}
		label, err := codex.ParsePage(page)
		if err != nil {
			return "", fmt.Errorf("write a page such as 12r")
		}
		at, ok := b.Find(label)
		if !ok || b.Pages[at].Lost {
			return "", fmt.Errorf("%s has no page %s; %s", book, page, b.NearestRemedy(label))
		}
		return b.Pages[at].Label.String(), nil
	}
	return "", fmt.Errorf("the study has no book %q; it has %s", book, wording.List(ids))
}

// remaining tells in brackets how much is left, and how long it will take at the pace
// of this session.
func (w *work[S]) remaining() string {
	left := w.left()
	words := " (" + wording.Count(left, w.one, w.many) + " left"
	if pace := w.pace(); pace > 0 {
		minutes := (time.Duration(left) * pace).Round(time.Minute).Minutes()
		words += fmt.Sprintf(", about %s", wording.Count(max(1, int(minutes)), "minute", "minutes"))
	}
	return words + ")"
}

// pace is the median time between one step and the next, pauses left out; 0 before five.
func (w *work[S]) pace() time.Duration {
	var between []time.Duration
	for i := 1; i < len(w.taken); i++ {
		if d := w.taken[i].when.Sub(w.taken[i-1].when); d > 0 && d < 5*time.Minute {
			between = append(between, d)
		}
	}
	if len(between) < 5 {
		return 0
	}
	slices.Sort(between)
	return between[len(between)/2]
}

// listLeft names the places that are left, in order.
func (w *work[S]) listLeft() string {
	var names []string
	for k := range w.steps {
		p := w.steps[(w.at+k)%len(w.steps)]
		if name := p.step.where(); !p.done && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return "  Nothing is left."
	}
	const most = 12
	if more := len(names) - most; more > 0 {
		names = append(names[:most], fmt.Sprintf("%d more places", more))
	}
	return "  Left" + w.remaining() + ": " + wording.List(names) + "."
}

// A Page is a page of a book, by their names.
type Page struct{ Book, Page string }

func (p Page) String() string { return inWords([2]string{p.Book, p.Page}) }

// inWords names a page of a book.
func inWords(place [2]string) string { return place[0] + ", f.\u00a0" + place[1] }

// draws decide which of n pages are taken once more: those of the day and the observer,
// so that asked for twice they are the same.
func (w *work[S]) draws(observer string, n int) *rand.Rand {
	seed := fnv.New64a()
	fmt.Fprint(seed, w.day, "\x00", observer)
	return rand.New(rand.NewPCG(seed.Sum64(), uint64(n)))
}

// ending ends a summary with what is left, and with the pages to take again, in a
// sentence that has a place for them.
func (w *work[S]) ending(lines []string, again []Page, sentence string) string {
	if len(w.steps) > 0 && w.left() > 0 {
		lines = append(lines, strings.TrimSpace(w.listLeft()))
	}
	if len(again) > 0 {
		var names []string
		for _, p := range again {
			names = append(names, p.String())
		}
		lines = append(lines, fmt.Sprintf(sentence, wording.List(names)))
	}
	return strings.Join(lines, "\n")
}
