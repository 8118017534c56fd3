package traces

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/combin"

	"thumbed/models/codex"
	"thumbed/models/wording"
)

// A Print says whether a trace on one page may be the print of the page that faces
// it: whether facing pages have it together more often than by chance.
type Print struct {
	Trace    string  `json:"trace"`    // the trace
	Openings int     `json:"openings"` // of which both pages can be told
	Both     int     `json:"both"`     // with the trace on both pages
	Expected float64 `json:"expected"` // as often by chance, given how many versos and rectos of each book have it
	// P is the chance of as many or more if each book's rectos faced its versos
	// anyhow: Fisher's exact test over books as strata (Cox and Snell 1989, Analysis
	// of binary data, section 2.2).
	P     float64      `json:"p"`     // chance of as many or more with the trace on both pages, if the rectos of each book faced its versos anyhow
	Pages []FacingPair `json:"pages"` // with the trace on both pages
	Words string       `json:"words"` // the same in sentences
}

// A FacingPair is an opening with a trace on both pages.
type FacingPair struct {
	Book  string `json:"book"`  // the book’s id
	Verso string `json:"verso"` // the verso
	Recto string `json:"recto"` // the recto
	book  *codex.Book
}

// Prints looks at every trace of which both pages of some opening were looked at.
func (l *Looks) Prints() []Print {
	out := []Print{}
	there := l.there()
	for trace := range l.Book {
		p := Print{Trace: l.Book[trace].Name, Pages: []FacingPair{}}
		var margins [][]int // of each book: openings, versos and rectos with it
		for book, b := range l.Books {
			n, versos, rectos := 0, 0, 0
			for verso := 1; verso < len(b.Pages); verso += 2 {
				recto, ok := b.Opening(verso)
				if !ok {
					continue
				}
				v, told := there[trace][[2]int{book, verso}]
				r, also := there[trace][[2]int{book, recto}]
				if !told || !also {
					continue
				}
				n++
				if v {
					versos++
				}
				if r {
					rectos++
				}
				if v && r {
					p.Both++
					p.Pages = append(p.Pages, FacingPair{Book: b.ID, Verso: b.Pages[verso].Label.String(), Recto: b.Pages[recto].Label.String(), book: b})
				}
			}
			if n == 0 {
				continue
			}
			p.Openings += n
			margins = append(margins, []int{n, versos, rectos})
		}
		if p.Openings == 0 {
			continue
		}
		slices.SortFunc(margins, slices.Compare) // sums do not depend on the order of books
		chance := []float64{1}                   // of each number of openings with both
		for _, m := range margins {
			p.Expected += float64(m[1]) * float64(m[2]) / float64(m[0])
			chance = added(chance, hypergeometric(m[0], m[1], m[2]))
		}
		for k := p.Both; k < len(chance); k++ {
			p.P += chance[k]
		}
		p.P = min(1, p.P)
		p.Words = p.words()
		out = append(out, p)
	}
	return out
}

// hypergeometric is the chance of each number of openings with both pages marked,
// where so many versos and rectos of n are.
func hypergeometric(n, versos, rectos int) []float64 {
	out := make([]float64, min(versos, rectos)+1)
	for k := range out {
		if n-versos >= rectos-k {
			out[k] = combin.GeneralizedBinomial(float64(versos), float64(k)) * combin.GeneralizedBinomial(float64(n-versos), float64(rectos-k)) / combin.GeneralizedBinomial(float64(n), float64(rectos))
		}
	}
	return out
}

// added is the distribution of the sum of two numbers.
func added(a, b []float64) []float64 {
	out := make([]float64, len(a)+len(b)-1)
	for i, p := range a {
		for j, q := range b {
			out[i+j] += float64(p * q)
		}
	}
	return out
}

// suspected is the chance below which prints are suspected.
const suspected = 0.05

func (p *Print) words() string {
	said := fmt.Sprintf("Of %s, both pages of %s can be told; %d have it on both, where %s would by chance (%s).",
		p.Trace, wording.Count(p.Openings, "opening", "openings"), p.Both, wording.Fixed(p.Expected, 1), wording.P(p.P))
	if p.P >= suspected || p.Both == 0 {
		return said + " That one is the print of the other is not shown."
	}
	var places []string
	for _, f := range p.Pages {
		places = append(places, fmt.Sprintf("ff.%s%s–%s of %s", wording.NoBreak, f.Verso, f.Recto, f.book.Called()))
	}
	if len(places) > 5 {
		places = append(places[:5], fmt.Sprintf("%d more", len(p.Pages)-5))
	}
	return said + " Some may be prints of their neighbours, made when the book was closed, or traces of one use of both pages: compare " + strings.Join(slices.Clip(places), "; ") + ". The feature neighbour lets a model allow for it."
}
