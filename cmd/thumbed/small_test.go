package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// run executes one command line and gives what came of it.
func run(args ...string) (code int, stdout, stderr string) {
	var out, err bytes.Buffer
	code = execute(args, &out, &err)
	return code, out.String(), err.String()
}

// files are the files of a study by name.
type files map[string]string

// small is a study that is in order and as small as one can be: two invented
// books of eight leaves, two offices and a prayer in each, one day of readings.
func small() files {
	f := files{
		"study.toml": `title = "Two small books"
[tables]
books = "books.csv"
leaves = "leaves.csv"
pages = "pages.csv"
sections = "sections.csv"
instruments = "instruments.csv"
readings = ["readings.csv"]
[measuring]
drift = "offset"
[[model]]
name = "pictures"
outcome = "wear"
fixed = ["picture", "side"]
[model.levels]
picture = ["no", "yes"]
[[model.random]]
by = ["book", "quire"]
terms = ["intercept"]
[[question]]
words = "Do pictures attract handling?"
model = "pictures"
contrast = { "picture=yes" = 1 }
direction = "more"
asked = "before"
`,
		"books.csv":       "book,title\nAnt,Ant's hours\nBee,Bee's hours\n",
		"instruments.csv": "instrument,floor,ceiling,resolution,tile\nlamp,0.00,2.00,0.01,0.20\n",
	}
	leaves, pages, sections := "book,leaf,quire\n", "book,page,picture\n", "book,section,kind,set,office,extent\n"
	log := "book,page,date,time,instrument,observer,target,spot,density\n"
	minute := 9 * 60
	add := func(book, page, target, spot string, density float64) {
		log += fmt.Sprintf("%s,%s,2026-03-09,%02d:%02d,lamp,X,%s,%s,%.2f\n", book, page, minute/60, minute%60, target, spot, density)
		minute++
	}
	add("", "", "tile", "", 0.20)
	for b, book := range []string{"Ant", "Bee"} {
		for leaf := 1; leaf <= 8; leaf++ {
			leaves += fmt.Sprintf("%s,%d,%d\n", book, leaf, (leaf+3)/4)
			for s, side := range []string{"r", "v"} {
				page := fmt.Sprint(leaf, side)
				picture := leaf%3 == 1 && s == 0
				wear := 0.10 + 0.02*float64(b) + 0.01*float64((leaf*7+s*3)%5)
				if picture {
					wear += 0.08
					pages += fmt.Sprintf("%s,%s,yes\n", book, page)
				}
				add(book, page, "zero", "", 0.15)
				add(book, page, "page", "fixed", 0.15+wear)
				add(book, page, "page", "fixed", 0.16+wear)
			}
		}
		sections += book + ",Matins,hours,of the Virgin,Matins,ff. 1r–4v\n" +
			book + ",Lauds,hours,of the Virgin,Lauds,ff. 5r–7v\n" +
			book + ",Prayer,prayer,,,ff. 8r–8v\n"
	}
	add("", "", "tile", "", 0.21)
	f["leaves.csv"], f["pages.csv"], f["sections.csv"], f["readings.csv"] = leaves, pages, sections, log
	return f
}

// write puts the files into a new folder and gives its path.
func (f files) write(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range f {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// swap replaces the first place where old stands in a file; it must stand
// there.
func (f files) swap(t *testing.T, name, old, new string) {
	t.Helper()
	if !strings.Contains(f[name], old) {
		t.Fatalf("%s holds no %q to be broken", name, old)
	}
	f[name] = strings.Replace(f[name], old, new, 1)
}

// line is the line of a file on which text first stands.
func (f files) line(t *testing.T, name, text string) int {
	t.Helper()
	before, _, found := strings.Cut(f[name], text)
	if !found {
		t.Fatalf("%s holds no %q", name, text)
	}
	return 1 + strings.Count(before, "\n")
}

// tree is every file under a folder with what it holds, and every link with
// where it leads.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		switch {
		case entry.IsDir():
			out[name] = "folder"
		case entry.Type()&fs.ModeSymlink != 0:
			out[name], err = os.Readlink(path)
		case !entry.Type().IsRegular():
			out[name] = "a pipe or a device"
		default:
			var text []byte
			text, err = os.ReadFile(path)
			out[name] = string(text)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
