package catalogue

import (
	"cmp"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/wording"
)

// A heading is a text that a picture opens, and the page where it begins.
type heading struct {
	line, page int
	title      string       // without the office
	office     codex.Office // NoOffice where it names none
	facing     bool         // the picture stands on the page before
}

// headings are the texts that pictures open, in the order of the book, one a page.
func (s *sectioner) headings(r *Record) []heading {
	var out []heading
	for _, p := range r.Pictures {
		if p.Opens == "" || len(p.Loci) != 1 {
			continue
		}
		page, ok := s.page(p.Loci[0].From)
		h := heading{line: p.Line, page: page, title: p.Opens, office: officeOf(p.Opens)}
		if h.office != codex.NoOffice {
			h.title = strings.TrimRight(h.title[:max(0, strings.LastIndexAny(h.title, ",:"))], " ")
		}
		opens := slices.Contains([]string{kindHours, kindDead, "psalms", "litany", "lessons", "calendar"}, kindOf(h.title))
		if !ok || !opens && (h.title != "" || h.office == codex.NoOffice) {
			continue
		}
		if p.Full && page%2 == 1 && page+1 < 2*len(s.labels) && !s.labels[(page+1)/2].IsZero() {
			h.page, h.facing = page+1, true
		}
		out = append(out, h)
	}
	slices.SortStableFunc(out, func(a, b heading) int { return cmp.Compare(a.page, b.page) })
	return slices.CompactFunc(out, func(a, b heading) bool { return a.page == b.page })
}

// fewestHeadings is how many texts, or offices, the headings of pictures must name
// before parts of a text are made of them.
const fewestHeadings = 3

// opened makes parts of hours of the offices, and of the hours worked into them, which
// only the headings of their pictures tell, and parts of a book that is told as one text.
func (s *sectioner) opened(r *Record) {
	headings := s.headings(r)
	if len(headings) < fewestHeadings {
		return
	}
	type placed struct {
		item *Item
		run
	}
	var texts []placed
	walk(r.Items, func(item *Item) {
		if item.Part || len(item.Loci) == 0 || placedBelow(item) {
			return
		}
		first, firstOK := s.page(item.Loci[0].From)
		last, lastOK := s.page(item.Loci[len(item.Loci)-1].To)
		if firstOK && lastOK {
			texts = append(texts, placed{item, run{first, last}})
		}
	})
	slices.SortStableFunc(texts, func(a, b placed) int { return cmp.Compare(a.run[0], b.run[0]) })
	for i, t := range texts {
		last := 2*len(s.labels) - 1 // some are told to end with the first office
		if i+1 < len(texts) {
			last = max(t.run[1], texts[i+1].run[0]-1)
		}
		var own []heading
		for _, h := range headings {
			if h.page+1 == t.run[0] && h.page%2 == 1 {
				h.page, h.facing = h.page+1, true
			}
			if t.run[0] <= h.page && h.page <= last {
				own = append(own, h)
			}
		}
		if h := own; len(h) > 0 && h[len(h)-1].page > t.run[1] && !t.item.Begins && kindOf(t.item.Title) == kindHours {
			s.account.Infer(t.item.Line, t.item.What(), "it is said to end on %s, and pictures of its offices follow; it is taken to run on", s.label(t.run[1]))
			t.item.Loci, t.item.Begins, t.item.RunsOn = []codex.Range{{From: s.label(t.run[0]), To: s.label(t.run[0])}}, true, true
		}
		book := len(texts) == 1 && reWholeBook.MatchString(fold(t.item.Title))
		if book || kindOf(t.item.Title) == kindHours {
			s.divide(t.item, t.run[0], own, book)
		}
	}
}

// placedBelow tells whether a text has a part that has a place.
func placedBelow(item *Item) bool {
	return slices.ContainsFunc(item.Children, func(child *Item) bool { return len(child.Loci) > 0 || placedBelow(child) })
}

// divide makes parts of a text, which begins on a page, of the headings in it.
func (s *sectioner) divide(item *Item, first int, headings []heading, book bool) {
	different, set := map[string]bool{}, ""
	for i, h := range headings {
		if own := setOf(h.title); own != "" && kindOf(h.title) == kindHours {
			set = h.title
		} else if h.title == "" && book && set != "" {
			headings[i].title = set // Lauds, of the hours before it
		}
		if name := cmp.Or(h.office.String(), h.title); h.office != codex.NoOffice || book {
			different[name] = true
		}
	}
	if len(different) < fewestHeadings {
		return
	}
	parts := make([]*Item, len(headings))
	latest := map[string]int{} // the last office of each set, by its place in headings
	for i, h := range headings {
		own := setOf(h.title)
		if !book && own == setOf(item.Title) {
			h.title, own = "", ""
			headings[i] = h
		}
		begins := codex.Range{From: s.label(h.page), To: s.label(h.page)}
		parts[i] = &Item{Line: h.line, Title: titled(h.title, h.office.String()), Loci: []codex.Range{begins}, Begins: true, RunsOn: true}
		where := "on the page of its picture"
		if h.facing {
			where = "behind its picture, which fills the page before"
		}
		s.account.Infer(h.line, parts[i].What(), "only the heading of a picture tells it; it is taken to begin on %s, %s", begins.From, where)
		if h.office == codex.NoOffice {
			continue
		}
		before, known := latest[own]
		latest[own] = i
		if !known && i > 0 && h.office > codex.Matins && own == "" && !book {
			s.account.Leave(h.line, "the offices before “"+h.office.String()+"”", "no picture tells where they begin; enter them in sections.csv")
		}
		switch {
		case known && h.office > headings[before].office+1:
			s.hidden(parts[i-1], headings[i-1], headings[before].office+1, h.office-1)
		case !known && h.office > codex.Matins && !book && own == "" && i == 0 && first < h.page:
			matins := &Item{Line: item.Line, Title: codex.Matins.String(), Loci: []codex.Range{{From: s.label(first), To: s.label(first)}}, Begins: true, RunsOn: true}
			s.account.Infer(h.line, matins.What(), "no picture opens it; it is taken to begin with the hours, on %s", s.label(first))
			if h.office > codex.Lauds {
				s.hidden(matins, heading{line: h.line, office: codex.Matins}, codex.Lauds, h.office-1)
			}
			item.Children = append(item.Children, matins)
		}
	}
	if last := headings[len(headings)-1]; last.office != codex.NoOffice && last.office < codex.Compline {
		s.hidden(parts[len(parts)-1], last, last.office+1, codex.Compline)
	}
	item.Children = append(item.Children, parts...)
}

// hidden names offices that no picture opens, and which therefore stand somewhere in the
// part of a heading, with it. The part is of no one office then.
func (s *sectioner) hidden(part *Item, h heading, first, last codex.Office) {
	names := slices.DeleteFunc([]string{h.office.String()}, func(name string) bool { return name == "" })
	for o := first; o <= last; o++ {
		s.account.Leave(h.line, "the office “"+o.String()+"”", "no picture tells where it begins, and it is counted in “%s”, which is of no one office for that; enter it in sections.csv", part.Title)
		names = append(names, o.String())
	}
	part.Title = titled(h.title, wording.List(names))
}

// titled is the title of a text with an office behind it.
func titled(title, office string) string {
	return strings.Trim(title+", "+office, ", ")
}
