package codex_test

import (
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// A label that is read prints in a form that reads as the same label.
func FuzzFolio(f *testing.F) {
	for _, seed := range []string{"12", "[13]", "13bis", "200a", "iv", "f. 12", "[ii]bis", "xiiij", "c. c", "12*", "FOL. 012", ""} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		folio, err := codex.ParseFolio(text)
		if err != nil {
			return
		}
		if again, err := codex.ParseFolio(folio.String()); err != nil || again != folio || folio.IsZero() {
			t.Errorf("%q is %q, which is %+v (%v)", text, folio, again, err)
		}
	})
}

func FuzzPage(f *testing.F) {
	for _, seed := range []string{"12r", "[13]v", "13bisr", "200av", "iv", "ivv", "f. 12ᵛ", "fol. 12 recto", "[iv]", "12va", "12r°", "iibisv", ""} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		page, err := codex.ParsePage(text)
		if err != nil {
			return
		}
		if again, err := codex.ParsePage(page.String()); err != nil || again != page || page.Folio.IsZero() {
			t.Errorf("%q is %q, which is %+v (%v)", text, page, again, err)
		}
	})
}

// An extent that is read prints back byte for byte, and its ranges, written
// anew, are the same ranges.
func FuzzExtent(f *testing.F) {
	for _, seed := range []string{"ff. 13r–25v", "fols 1r-4v, 9r", "f. iir", "13r–v", "Bl. 13--26", "ff. iv–xv; 12rv & 13", "ff. [13]r–13bisv", "f. 12", ""} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		e, err := codex.ParseExtent(text)
		if err != nil {
			return
		}
		if e.String() != text || len(e.Ranges) == 0 {
			t.Errorf("%q prints back as %q with %d ranges", text, e, len(e.Ranges))
		}
		made := codex.Extent{Ranges: e.Ranges}
		again, err := codex.ParseExtent(made.String())
		if err != nil || len(again.Ranges) != len(e.Ranges) {
			t.Fatalf("%q is %q: %v", text, made, err)
		}
		for i, r := range again.Ranges {
			if r != e.Ranges[i] {
				t.Errorf("%q is %q, range %d %v", text, made, i, r)
			}
		}
	})
}

// No tables make loading fail other than by problems, and features follow from
// whatever was loaded.
func FuzzTables(f *testing.F) {
	f.Add(small.books, small.leaves, small.pages, small.sections)
	for _, test := range broken {
		x := small
		switch test.table {
		case "leaves":
			x.leaves = test.new + "\n" + x.leaves
		case "sections":
			x.sections += test.new + "\n"
		}
		f.Add(x.books, x.leaves, x.pages, x.sections)
	}
	f.Add("book\na\nb\n", "book,leaf,quire,state,conjugate,recto\na,,q,lost,,\na,1,q,,singleton,hair\nb,1,,,2,\nb,2,,,1,flesh\n", "book,page,blank,own\nb,2v,yes,x\n", "book,section,kind,extent,set,office\nb,s,k,\"1v,2r\",x,Nona\n")
	f.Fuzz(func(t *testing.T, books, leaves, pages, sections string) {
		var ps table.Problems
		loaded := codex.FromTables(codex.Tables{
			Books: table.Read("books.csv", []byte(books), &ps), Leaves: table.Read("leaves.csv", []byte(leaves), &ps),
			Pages: table.Read("pages.csv", []byte(pages), &ps), Sections: table.Read("sections.csv", []byte(sections), &ps),
		}, &ps)
		for _, p := range ps.List() {
			if p.Expected == "" || p.Remedy == "" || p.File == "" {
				t.Errorf("a problem without its parts: %#v", p)
			}
		}
		rows := 0
		for _, b := range loaded {
			b.Collation()
			b.Gaps()
			rows += len(b.Present())
		}
		if got := codex.Features(loaded).Rows(); got != rows {
			t.Errorf("%d rows of features for %d pages", got, rows)
		}
	})
}
