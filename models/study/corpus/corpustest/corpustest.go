// Package corpustest makes corpora of invented books for tests: in the town of
// Veldermond, which is invented like every reading in them.
package corpustest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
)

// A Plan says what to make.
type Plan struct {
	Books  int
	Leaves int     // of each book; 150 where not given
	Early  float64 // share of the readers whose reading falls away steeply; the others' does gently
	Seed   uint64
}

// title is that of every corpus made here.
const title = "Books of hours of Veldermond (invented)"

// Head begins a corpus.toml of such books.
const Head = `title       = "` + title + `"
author      = "A. N. Example"
note        = "Veldermond in the Sarreland, its people and its books are invented, and so is every reading."
invented    = true
folders     = ["books/*"]
instruments = "instruments.csv"
`

// Pictures is a model over all books, with a question.
const Pictures = `
[[model]]
name    = "pictures"
about   = "What a picture adds to the wear of its page, over all books."
outcome = "wear"
fixed   = ["picture", "kind"]
[model.levels]
picture = ["no", "yes"]
kind    = ["hours", "calendar", "psalms", "prayer"]
[[model.random]]
by    = "book"
terms = ["intercept"]
[[model.random]]
by    = ["book", "quire"]
terms = ["intercept"]

[[question]]
words     = "Do pictures attract handling?"
model     = "pictures"
contrast  = { "picture=yes" = 1 }
direction = "more"
asked     = "before"
`

// Name is the id of book i of a corpus, Folder its folder.
func Name(i int) string { return fmt.Sprintf("Veldermond-%04d", i+1) }

// Folder is the folder of book i, from that of corpus.toml.
func Folder(i int) string { return "books/" + Name(i) }

// Make writes the folders of the books and the table of instruments below dir;
// corpus.toml is for the test to write.
func (p Plan) Make(dir string) error {
	if err := os.MkdirAll(filepath.Join(dir, "books"), 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "instruments.csv"), []byte("instrument,floor,ceiling,resolution,tile\nbench,0.00,2.00,0.01,0.16\n"), 0o644); err != nil {
		return err
	}
	for i := range p.Books {
		if err := p.book(i).write(filepath.Join(dir, filepath.FromSlash(Folder(i)))); err != nil {
			return err
		}
	}
	return nil
}

// offices are the hours of the Virgin with the share of the leaves that each has.
var offices = []struct {
	name  string
	share float64
}{{"Matins", 0.1}, {"Lauds", 0.06}, {"Prime", 0.04}, {"Terce", 0.04}, {"Sext", 0.04}, {"None", 0.04}, {"Vespers", 0.05}, {"Compline", 0.05}}

// A section is a text of a book.
type section struct {
	name, kind, set, office string
	first, last             int // leaves from 1
	wear                    float64
}

// A book is one book being made.
type book struct {
	name     string
	leaves   int
	sections []section
	level    float64
	draws    *rand.Rand
}

func (p Plan) book(i int) *book {
	b := &book{name: Name(i), leaves: p.Leaves, draws: rand.New(rand.NewPCG(p.Seed, uint64(i)))}
	if b.leaves == 0 {
		b.leaves = 150
	}
	b.level = math.Exp(0.3 * b.draws.NormFloat64())
	rate := 0.08 + 0.02*b.draws.NormFloat64()
	if b.draws.Float64() < p.Early {
		rate = 0.45 + 0.03*b.draws.NormFloat64()
	}
	at := 1
	add := func(s section, share float64) {
		s.first, s.last = at, min(b.leaves, at+max(1, int(share*float64(b.leaves)))-1)
		b.sections = append(b.sections, s)
		at = s.last + 1
	}
	add(section{name: "Calendar", kind: "calendar", wear: 0.1}, 0.08)
	for k, o := range offices {
		add(section{name: "Hours of the Virgin, " + o.name, kind: "hours", set: "of the Virgin", office: o.name, wear: 0.35 * math.Exp(-rate*float64(k))}, o.share)
	}
	add(section{name: "Penitential psalms", kind: "psalms", wear: 0.2}, 0.15)
	add(section{name: "Prayers", kind: "prayer", wear: 0.08}, 1)
	return b
}

func (b *book) write(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	pages, log := b.measure()
	for name, text := range map[string]string{
		"books.csv":    fmt.Sprintf("book,title,owner,place,date,material,outer\n%s,\"Hours %s (Veldermond, invented)\",nobody,Veldermond,c. 1460,parchment,hair\n", b.name, b.name),
		"leaves.csv":   b.leafTable(),
		"pages.csv":    pages,
		"sections.csv": b.sectionTable(),
		"readings.csv": log,
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			return err
		}
	}
	return nil
}

func (b *book) leafTable() string {
	var out strings.Builder
	out.WriteString("book,leaf,quire,state,conjugate\n")
	for leaf := range b.leaves {
		fmt.Fprintf(&out, "%s,%d,%d,present,\n", b.name, leaf+1, leaf/8+1)
	}
	return out.String()
}

func (b *book) sectionTable() string {
	var out strings.Builder
	out.WriteString("book,section,kind,set,office,extent,incipit,language\n")
	for _, s := range b.sections {
		fmt.Fprintf(&out, "%s,\"%s\",%s,%s,%s,ff. %dr–%dv,,Latin\n", b.name, s.name, s.kind, s.set, s.office, s.first, s.last)
	}
	return out.String()
}

// measure draws the pages and the log: three placings and a zero a page, tiles
// before and after each day of 120 pages.
func (b *book) measure() (pages, readings string) {
	var page, log strings.Builder
	page.WriteString("book,page,picture,subject,blank\n")
	log.WriteString("book,page,date,time,instrument,observer,target,spot,tried,density,excluded,note\n")
	day, seconds := 0, 0
	clock := func() string {
		seconds += 20
		at := 9*3600 + seconds
		return fmt.Sprintf("2026-03-%02d,%02d:%02d:%02d", day+1, at/3600, at/60%60, at%60)
	}
	tiles := func() {
		for range 3 {
			fmt.Fprintf(&log, ",,%s,bench,HB,tile,,,%.2f,,\n", clock(), 0.16+0.006*b.draws.NormFloat64())
		}
	}
	quire, measured := 0.0, 0
	for _, s := range b.sections {
		for leaf := s.first; leaf <= s.last; leaf++ {
			if (leaf-1)%8 == 0 {
				quire = 0.02 * b.draws.NormFloat64()
			}
			for side, letter := range []string{"r", "v"} {
				if measured%120 == 0 {
					if measured > 0 {
						tiles()
						day, seconds = day+1, 0
					}
					tiles()
				}
				measured++
				label := fmt.Sprintf("%d%s", leaf, letter)
				wear := b.level*s.wear + quire + 0.03*b.draws.NormFloat64()
				if leaf == s.first && side == 0 && s.kind != "prayer" {
					wear += 0.06
					fmt.Fprintf(&page, "%s,%s,yes,a picture,\n", b.name, label)
				}
				zero := 0.17 + 0.01*b.draws.NormFloat64()
				fmt.Fprintf(&log, "%s,%s,%s,bench,HB,zero,,,%.2f,,\n", b.name, label, clock(), zero+0.008*b.draws.NormFloat64())
				for range 3 {
					fmt.Fprintf(&log, "%s,%s,%s,bench,HB,page,fixed,1,%.2f,,\n", b.name, label, clock(), math.Max(0.01, zero+wear+0.012*b.draws.NormFloat64()))
				}
			}
		}
	}
	tiles()
	return page.String(), log.String()
}
