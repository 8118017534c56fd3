package codex_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// broken are inputs with one thing wrong each (some with what follows from
// it): the change made to the small invented book, and every message.
var broken = []struct {
	name, table, old, new string
	want                  []string
}{
	{"unknown book in leaves", "leaves", "hazel,10,2,,", "hazle,10,2,,", []string{
		`leaves.csv, line 12, column conjugate: found "3 leaves to pair"; expected an even number of leaves to pair in quire 2 of book hazel; enter the lost leaf, or write singleton beside the leaf that never had another half, or unknown where that cannot be seen.`,
		`leaves.csv, line 15, column book: found "hazle"; expected a book of books.csv; write hazel, if that is meant, or enter the book in books.csv.`,
		`sections.csv, line 4, column extent: found "ff. 7r–8v, 10r-11r"; expected pages of book hazel, which has no 10r; the nearest page is 9r.`}},
	{"unknown book in pages", "pages", "hazel,3r", "rowan,3r", []string{
		`pages.csv, line 2, column book: found "rowan"; expected a book of books.csv; enter the book in books.csv or correct its name.`}},
	{"unknown book in sections", "sections", "hazel,Calendar", "hasel,Calendar", []string{
		`sections.csv, line 2, column book: found "hasel"; expected a book of books.csv; write hazel, if that is meant, or enter the book in books.csv.`}},
	{"book twice", "books", "parchment,hair\n", "parchment,hair\nhazel,Again,,,\n", []string{
		`books.csv, line 3, column book: found "hazel"; expected each row once (line 2 says it already); delete one of the two rows or correct its label.`}},
	{"book without leaves", "books", "parchment,hair\n", "parchment,hair\nrowan,Empty,,,\n", []string{
		`leaves.csv, column book: found "no leaf of book rowan"; expected a row for each leaf of every book of books.csv; enter its leaves, or delete the book from books.csv.`}},
	{"no book", "books", "hazel,The hours of Hazelmere (invented),Maud Tanner,parchment,hair\n", "", []string{
		`books.csv, line 1: found "no book"; expected at least one row; enter the book: book is its short name.`}},
	{"unknown material", "books", "parchment", "vellum", []string{
		`books.csv, line 2, column material: found "vellum"; expected one of parchment, paper; write one of these.`}},
	{"sides of paper", "books", "parchment", "paper", []string{
		`books.csv, line 2, column outer: found "hair"; expected nothing for a book of paper, which has no hair and flesh side; empty the cell, or write parchment as the material.`}},
	{"leaf that is no label", "leaves", "hazel,4bis,1,,", "hazel,4 and a half,1,,", []string{
		`leaves.csv, line 9, column leaf: found "4 and a half"; expected a folio label; write it such as 12, [13], 13bis, 200a or ii.`}},
	{"page label for a leaf", "leaves", "hazel,4bis,1,,", "hazel,4bisr,1,,", []string{
		`leaves.csv, line 9, column leaf: found "4bisr"; expected a folio label; write it such as 12, [13], 13bis, 200a or ii.`}},
	{"present leaf without label", "leaves", "hazel,4bis,1,,", "hazel,,1,,", []string{
		`leaves.csv, line 9, column leaf: found nothing; expected a folio label for every leaf that is still there; give it; a number that is not on the leaf stands in brackets, such as [13].`}},
	{"leaf twice", "leaves", "hazel,4bis,1,,", "hazel,4,1,,", []string{
		`leaves.csv, line 9, column leaf: found "4"; expected each label once in a book (line 8 of book hazel has it already); tell the two apart, such as 4bis for the second.`}},
	{"leaf twice, once supplied", "leaves", "hazel,5,1,,", "hazel,[4bis],1,,", []string{
		`leaves.csv, line 10, column leaf: found "[4bis]"; expected each label once in a book (line 9 of book hazel has it already); tell the two apart, such as [4ter] for the second.`}},
	{"unknown state", "leaves", "hazel,,1,lost,", "hazel,2bis,1,gone,", []string{
		`leaves.csv, line 6, column state: found "gone"; expected one of present, lost, cancelled; write one of these.`}},
	{"quire in two places", "leaves", "hazel,[6],1,,\nhazel,7,2,,", "hazel,[6],2,,\nhazel,7,1,,", []string{
		`leaves.csv, line 12, column quire: found "1"; expected the leaves of quire 1 of book hazel together (line 11, before this, is outside it); leaves stand in the physical order of the book: move the row, or correct the quire of one of them.`,
		`leaves.csv, line 13, column quire: found "2"; expected the leaves of quire 2 of book hazel together (line 12, before this, is outside it); leaves stand in the physical order of the book: move the row, or correct the quire of one of them.`}},
	{"odd quire", "leaves", "hazel,,1,lost,\n", "", []string{
		`leaves.csv, line 4, column conjugate: found "7 leaves to pair"; expected an even number of leaves to pair in quire 1 of book hazel; enter the lost leaf, or write singleton beside the leaf that never had another half, or unknown where that cannot be seen.`}},
	{"conjugate that is no label", "leaves", "hazel,2,1,,", "hazel,2,1,,none", []string{
		`leaves.csv, line 5, column conjugate: found "none"; expected a folio label, singleton, unknown or nothing; name the leaf that is the other half of the sheet, such as 12.`}},
	{"conjugate that is not there", "leaves", "hazel,2,1,,", "hazel,2,1,,50", []string{
		`leaves.csv, line 5, column conjugate: found "50"; expected a leaf of book hazel; the nearest leaf is 11.`}},
	{"conjugate with itself", "leaves", "hazel,2,1,,", "hazel,2,1,,2", []string{
		`leaves.csv, line 5, column conjugate: found "2"; expected another leaf than this one; write singleton where the leaf has no other half.`}},
	{"conjugate in another quire", "leaves", "hazel,2,1,,", "hazel,2,1,,7", []string{
		`leaves.csv, line 5, column conjugate: found "7"; expected a leaf of the same quire; 2 is in quire 1 and 7 in quire 2; correct the label, or the quire of one of the two.`}},
	{"conjugate in no quire", "leaves", "hazel,2,1,,", "hazel,2,1,,ii", []string{
		`leaves.csv, line 5, column conjugate: found "ii"; expected a leaf of the same quire; 2 is in quire 1 and ii in no quire; correct the label, or the quire of one of the two.`}},
	{"conjugate that does not answer", "leaves", "hazel,2,1,,\nhazel,,1,lost,\nhazel,3,1,,\nhazel,4,1,,\nhazel,4bis,1,,\nhazel,5,1,,", "hazel,2,1,,5\nhazel,,1,lost,\nhazel,3,1,,\nhazel,4,1,,\nhazel,4bis,1,,\nhazel,5,1,,3", []string{
		`leaves.csv, line 5, column conjugate: found "5"; expected a leaf that answers: 5 (line 10) is conjugate with 3; make the two halves name each other, or empty one of the cells.`}},
	{"conjugate of a singleton", "leaves", "hazel,8,2,,", "hazel,8,2,,9", []string{
		`leaves.csv, line 13, column conjugate: found "9"; expected a leaf that answers: 9 (line 14) is singleton; make the two halves name each other, or empty one of the cells.`}},
	{"conjugate claimed twice", "leaves", "hazel,2,1,,\nhazel,,1,lost,\nhazel,3,1,,", "hazel,2,1,,5\nhazel,,1,lost,\nhazel,3,1,,5", []string{
		`leaves.csv, line 7, column conjugate: found "5"; expected a leaf that answers: 5 (line 10) is conjugate with 2; make the two halves name each other, or empty one of the cells.`}},
	{"sheets that cross", "leaves", "hazel,1,1,,\nhazel,2,1,,", "hazel,1,1,,5\nhazel,2,1,,[6]", []string{
		`leaves.csv, line 5, column conjugate: found "[6]"; expected sheets that lie one inside the other; the sheets of 1 and 2 in quire 1 of book hazel cross; correct the conjugate of one of them.`}},
	{"sides of one sheet that are alike", "leaves", "book,leaf,quire,state,conjugate\nhazel,i,,,\nhazel,ii,,,\nhazel,1,1,,\n", "book,leaf,quire,state,conjugate,recto\nhazel,i,,,,\nhazel,ii,,,,\nhazel,1,1,,[6],hair\n", []string{
		`leaves.csv, line 11, column recto: found "hair"; expected flesh: the other half of the sheet, 1 (line 4), has its recto hair, and one skin makes both; look again at both leaves, or correct their conjugates.`}},
	{"no column of leaves", "leaves", "book,leaf,", "Book,folio,", []string{
		`leaves.csv, line 1, column book: found "Book,folio,quire,state,conjugate"; expected a column book; rename the column “Book” to book.`}},
	{"unknown folio", "pages", "hazel,3r", "hazel,12r", []string{
		`pages.csv, line 2, column page: found "12r"; expected a page of book hazel; the nearest page is 11r.`}},
	{"unknown bis leaf", "pages", "hazel,3r", "hazel,5bisv", []string{
		`pages.csv, line 2, column page: found "5bisv"; expected a page of book hazel; the nearest page is 5v.`}},
	{"unknown flyleaf", "pages", "hazel,3r", "hazel,ivr", []string{
		`pages.csv, line 2, column page: found "ivr"; expected a page of book hazel; the nearest page is iir.`}},
	{"page without side", "pages", "hazel,3r", "hazel,3", []string{
		`pages.csv, line 2, column page: found "3"; expected a page label, a folio with its side; write 3r or 3v.`}},
	{"no page", "pages", "hazel,3r", "hazel,", []string{
		`pages.csv, line 2, column page: found nothing; expected a value in every row; give it: page label such as 12r.`}},
	{"page twice", "pages", "hazel,11v,,,yes,", "hazel,f. 3 recto,,,yes,", []string{
		`pages.csv, line 3, column page: found "f. 3 recto"; expected each page once in a book (line 2 describes it already); join the two rows, or correct the page of one of them.`}},
	{"neither yes nor no", "pages", "hazel,3r,yes", "hazel,3r,Yes", []string{
		`pages.csv, line 2, column picture: found "Yes"; expected yes or no; write yes.`}},
	{"subject without picture", "pages", "hazel,3r,yes", "hazel,3r,no", []string{
		`pages.csv, line 2, column subject: found "Annunciation"; expected nothing, since the page has no picture; write yes for the picture, or empty the subject.`}},
	{"blank page with picture", "pages", "Annunciation,,2", "Annunciation,yes,2", []string{
		`pages.csv, line 2, column blank: found "yes"; expected no, since the page has a picture; correct one of the two.`}},
	{"own column named as a feature", "pages", "blank,gold", "blank,position", []string{
		`pages.csv, line 1, column position: found "position"; expected a name that no feature of the page bears already (position is worked out from the other tables); rename the column, such as my_position.`}},
	{"section without name", "sections", "hazel,Calendar", "hazel,", []string{
		`sections.csv, line 2, column section: found nothing; expected a value in every row; give it: name of the section.`}},
	{"section on an unknown folio", "sections", "ff. 1r–2v", `"ff. 1r–2v, 30v"`, []string{
		`sections.csv, line 2, column extent: found "ff. 1r–2v, 30v"; expected pages of book hazel, which has no 30v; the nearest page is 11v.`}},
	{"extent that cannot be read", "sections", "ff. 1r–2v", "the first gathering", []string{
		`sections.csv, line 2, column extent: found "the first gathering"; expected an extent, one page or more; write it such as ff. 13r–25v, or ff. 13r–25v, 30r.`}},
	{"no extent", "sections", "ff. 1r–2v", "", []string{
		`sections.csv, line 2, column extent: found nothing; expected a value in every row; give it: where it stands, such as ff. 13r–25v, or ff. 13r–25v, 30r.`}},
	{"section that ends before it starts", "sections", "ff. 1r–2v", "ff. 2v–1r", []string{
		`sections.csv, line 2, column extent: found "ff. 2v–1r"; expected a range that runs forward along the book; 1r comes before 2v; write 1r–2v, if that is meant.`}},
	{"number cut short", "sections", `"ff. 7r–8v, 10r-11r"`, "ff. 10r–1r", []string{
		`sections.csv, line 4, column extent: found "ff. 10r–1r"; expected a range that runs forward along the book; 1r comes before 10r; write 10r–11r, if that is meant.`}},
	{"sections that overlap", "sections", "ff. 1r–2v", "ff. 1r–4v", []string{
		`sections.csv, line 3, column extent: found "ff. 3r–[6]v"; expected pages of no other section; 3r stands in “Calendar” too (line 2); correct one of the two extents; only a page on which one ends and the other begins may stand in both.`}},
	{"sections that share two pages", "sections", "ff. 1r–2v", "ff. 1r–3v", []string{
		`sections.csv, line 3, column extent: found "ff. 3r–[6]v"; expected pages of no other section; 3r stands in “Calendar” too (line 2); correct one of the two extents; only a page on which one ends and the other begins may stand in both.`}},
	{"section inside another", "sections", "ff. 1r–2v", "ff. 1r–2v,,Latin\nhazel,Prayer,prayer,,,f. 2r", []string{
		`sections.csv, line 3, column extent: found "f. 2r"; expected pages of no other section; 2r stands in “Calendar” too (line 2); correct one of the two extents; only a page on which one ends and the other begins may stand in both.`}},
	{"section of which every page is another's", "sections", "hazel,Calendar,calendar,,,ff. 1r–2v,,Latin\n",
		"hazel,Litany,litany,,,f. 1r,,\nhazel,Calendar,calendar,,,ff. 1r–v,,Latin\nhazel,Prayer,prayer,,,f. 1v,,\n", []string{
			`sections.csv, line 3, column extent: found "ff. 1r–v"; expected a page that counts in this section; others claim all of them; join it with one of them, or give it a page of its own.`}},
	{"two sections on one page", "sections", "hazel,Calendar,calendar,,,ff. 1r–2v,,Latin\n", "hazel,Calendar,calendar,,,f. 1r,,Latin\nhazel,Prayer,prayer,,,f. 1r,,Latin\n", []string{
		`sections.csv, line 3, column extent: found "f. 1r"; expected pages of no other section; 1r stands in “Calendar” too (line 2); a page counts in one section only: join the two, or leave the page to one of them.`}},
	{"section within itself", "sections", "ff. 1r–2v", `"ff. 1r–2v, 2r"`, []string{
		`sections.csv, line 2, column extent: found "ff. 1r–2v, 2r"; expected each page once; 2r stands in two ranges; correct the ranges.`}},
	{"unknown office", "sections", "Matutinum", "Vespres", []string{
		`sections.csv, line 3, column office: found "Vespres"; expected an office, one of Matins, Lauds, Prime, Terce, Sext, None, Vespers, Compline; write Vespers.`}},
	{"office without set", "sections", "hours,of the Virgin,Lauds", "hours,,Lauds", []string{
		`sections.csv, line 4, column set: found nothing; expected the set of hours that the office belongs to; write it, such as of the Virgin.`}},
	{"empty table of leaves", "leaves", "", "", []string{
		`leaves.csv, line 1: found nothing; expected a line of column names; the file is empty: put the columns' names in its first line.`}},
}

// replace makes the change; an empty old text stands for the whole table.
func replace(t *testing.T, text, old, new string) string {
	if old == "" {
		return "\n"
	}
	if strings.Count(text, old) != 1 {
		t.Fatalf("%q stands %d times in the table", old, strings.Count(text, old))
	}
	return strings.Replace(text, old, new, 1)
}

func TestBroken(t *testing.T) {
	for _, test := range broken {
		t.Run(test.name, func(t *testing.T) {
			x := small
			switch test.table {
			case "books":
				x.books = replace(t, x.books, test.old, test.new)
			case "leaves":
				x.leaves = replace(t, x.leaves, test.old, test.new)
				if test.name == "sides of one sheet that are alike" {
					x.leaves = strings.ReplaceAll(x.leaves, "hazel,[6],1,,\n", "hazel,[6],1,,,hair\n")
					x.leaves = pad(x.leaves)
				}
			case "pages":
				x.pages = replace(t, x.pages, test.old, test.new)
			case "sections":
				x.sections = replace(t, x.sections, test.old, test.new)
			}
			paths := x.write(t)
			var ps table.Problems
			codex.Load(paths, &ps)
			dir := filepath.Dir(paths.Books) + string(filepath.Separator)
			got := ""
			if err := ps.Err(); err != nil {
				got = strings.ReplaceAll(err.Error(), dir, "")
			}
			if diff := cmp.Diff(strings.Join(test.want, "\n"), got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// pad gives every row as many fields as the first.
func pad(text string) string {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	width := strings.Count(lines[0], ",")
	for i, line := range lines {
		lines[i] = line + strings.Repeat(",", width-strings.Count(line, ","))
	}
	return strings.Join(lines, "\n") + "\n"
}

// All problems of all tables come in one go, table by table and line by line.
func TestBrokenTogether(t *testing.T) {
	x := small
	x.books = replace(t, x.books, "parchment", "vellum")
	x.leaves = replace(t, x.leaves, "hazel,2,1,,", "hazel,2,1,,50")
	x.pages = replace(t, x.pages, "hazel,3r", "hazel,12r")
	x.sections = replace(t, replace(t, x.sections, "ff. 1r–2v", "ff. 2v–1r"), "Matutinum", "Vespres")
	var ps table.Problems
	codex.Load(x.write(t), &ps)
	var got []string
	for _, p := range ps.List() {
		got = append(got, filepath.Base(p.File)+" "+p.Value)
	}
	want := []string{"books.csv vellum", "leaves.csv 50", "pages.csv 12r", "sections.csv ff. 2v–1r", "sections.csv Vespres"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestMissingFiles(t *testing.T) {
	dir := t.TempDir()
	var ps table.Problems
	books := codex.Load(codex.Paths{Books: filepath.Join(dir, "books.csv"), Leaves: filepath.Join(dir, "leaves.csv")}, &ps)
	if len(books) != 0 || ps.Len() != 2 {
		t.Errorf("%d books, %v", len(books), ps.Err())
	}
}
