package codex_test

import (
	"os"
	"path/filepath"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// tables are the texts of a study's tables about its books.
type tables struct{ books, leaves, pages, sections string }

// write puts the tables into a new folder.
func (x tables) write(t testing.TB) codex.Paths {
	t.Helper()
	dir := t.TempDir()
	put := func(name, text string) string {
		if text == "" {
			return ""
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	return codex.Paths{Books: put("books.csv", x.books), Leaves: put("leaves.csv", x.leaves),
		Pages: put("pages.csv", x.pages), Sections: put("sections.csv", x.sections)}
}

// load reads sound tables.
func (x tables) load(t testing.TB) []*codex.Book {
	t.Helper()
	var ps table.Problems
	books := codex.Load(x.write(t), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return books
}

// small is an invented book of two flyleaves, a quire of eight that lost its
// third leaf, and a quire of four with a leaf put in after its second.
var small = tables{
	books: "book,title,owner,material,outer\nhazel,The hours of Hazelmere (invented),Maud Tanner,parchment,hair\n",
	leaves: "book,leaf,quire,state,conjugate\n" +
		"hazel,i,,,\nhazel,ii,,,\n" +
		"hazel,1,1,,\nhazel,2,1,,\nhazel,,1,lost,\nhazel,3,1,,\nhazel,4,1,,\nhazel,4bis,1,,\nhazel,5,1,,\nhazel,[6],1,,\n" +
		"hazel,7,2,,\nhazel,8,2,,\nhazel,9,2,,singleton\nhazel,10,2,,\nhazel,11,2,,\n",
	pages: "book,page,picture,subject,blank,gold\n" +
		"hazel,3r,yes,Annunciation,,2\nhazel,11v,,,yes,\n",
	sections: "book,section,kind,set,office,extent,incipit,language\n" +
		"hazel,Calendar,calendar,,,ff. 1r–2v,,Latin\n" +
		"hazel,Matins of the Virgin,hours,of the Virgin,Matutinum,ff. 3r–[6]v,Domine labia mea,Latin\n" +
		"hazel,Lauds of the Virgin,hours,of the Virgin,Lauds,\"ff. 7r–8v, 10r-11r\",,Latin\n",
}
