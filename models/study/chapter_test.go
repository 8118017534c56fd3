package study_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"golang.org/x/text/unicode/norm"

	"thumbed/models/report"
	"thumbed/models/report/chapter"
	"thumbed/models/report/chapter/chaptertest"
	"thumbed/models/report/grid"
	"thumbed/models/report/reporttest"
	"thumbed/models/study"
)

// overfull is by how many points a line may stand out into the margin: less than
// half a millimetre, which no eye sees.
const overfull = 1.0

// chapterOf writes the results of the demonstration under another author's name, which
// holds what LaTeX reads otherwise, and gives them and the chapter's folder.
func chapterOf(t *testing.T) (*report.Results, string) {
	t.Helper()
	dir := copiedWhole(t, map[string]func([]byte) []byte{
		"study.toml": func(text []byte) []byte {
			return bytes.Replace(text, []byte("A. N. Example"), []byte("E. Łasica & T_W {100 % #3} ~^ Wřel"), 1)
		},
	})
	s, err := study.Open(dir)
	must(t, err)
	results := *demonstration(t)
	results.Meta.Author = s.Author
	out := filepath.Join(dir, "results")
	must(t, s.Write(&results, out))
	return &results, filepath.Join(out, "chapter")
}

func TestTheChapter(t *testing.T) {
	results, dir := chapterOf(t)
	t.Run("and the page read well", func(t *testing.T) {
		at := filepath.Dir(dir)
		if n := reporttest.Folder(t, at); n < 20 {
			t.Errorf("only %d sentences", n)
		}
		page, err := os.ReadFile(filepath.Join(at, "index.html"))
		must(t, err)
		reporttest.FirstScreen(t, string(page), 900)
		reporttest.TextsKeep(t, string(page), 1000)
	})
	t.Run("holds together", func(t *testing.T) { holdsTogether(t, dir) })
	t.Run("compiles", func(t *testing.T) { compiles(t, results, dir) })
	t.Run("gives way compiled", func(t *testing.T) { givesWay(t, dir) })
}

// TestTheChapterOfManyBooks sets the demonstration with each of its books ten times, and
// counts what stands on every page: none is nearly empty.
func TestTheChapterOfManyBooks(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("sets 40 books in LaTeX, which takes minutes: set THUMBED_REAL")
	}
	chaptertest.Need(t)
	results, _ := chapterOf(t)
	one := *results
	readings := *results.Readings
	results.Books, results.Readings = nil, &readings
	readings.Wear = nil
	for k := range 10 {
		for i, b := range one.Books {
			book := *b.Book
			book.ID, book.Title, book.Short = fmt.Sprintf("%s-%d", book.ID, k), fmt.Sprintf("%s, copy %d (shelf %d)", book.Title, k, k), ""
			b.Book = &book
			results.Books = append(results.Books, b)
			for _, w := range one.Readings.Wear {
				if w.Book == i {
					w.Book = len(results.Books) - 1
					readings.Wear = append(readings.Wear, w)
				}
			}
		}
	}
	results.Traces = nil
	out := t.TempDir()
	must(t, results.Write(out))
	dir := filepath.Join(out, "chapter")
	must(t, chapter.Write(results, dir))
	chaptertest.LaTeX(t, dir, "chapter")
	chaptertest.Run(t, dir, "bibtex", "chapter")
	chaptertest.LaTeX(t, dir, "chapter")
	chaptertest.LaTeX(t, dir, "chapter")
	settle(t, dir, "chapter")
	checkLog(t, chaptertest.Log(t, dir, "chapter"), overfull)
	checkFilled(t, dir)
}

// settle sets the chapter again, twice at most, where LaTeX says that labels or the
// widths of tables have changed.
func settle(t *testing.T, dir, as string) {
	for range 2 {
		if log := chaptertest.Log(t, dir, "chapter"); !strings.Contains(log, "Label(s) may have changed") && !strings.Contains(log, "widths have changed") {
			return
		}
		chaptertest.LaTeX(t, dir, as)
	}
}

// uncompressed sets the chapter so that what its file says of itself can be read.
const uncompressed = `\pdfcompresslevel=0\pdfobjcompresslevel=0\input{chapter}`

// fewLines is how many lines of text a page has at least, those in its figures counted.
const fewLines = 6

// checkFilled wants every page of a chapter but the last to hold more than a few lines.
func checkFilled(t *testing.T, dir string) {
	pages := strings.Split(strings.TrimRight(chaptertest.Run(t, dir, "pdftotext", "-layout", "chapter.pdf", "-"), "\f"), "\f")
	for k, page := range pages[:len(pages)-1] {
		lines := 0
		for line := range strings.Lines(page) {
			if strings.TrimSpace(line) != "" {
				lines++
			}
		}
		if lines < fewLines {
			t.Errorf("page %d of %d has %d lines:\n%s", k+1, len(pages), lines, page)
		}
	}
}

// givesWay wants the next run to replace the results although the chapter was
// compiled among them, but not where the scholar put a file of her own there.
func givesWay(t *testing.T, dir string) {
	must(t, os.WriteFile(filepath.Join(dir, "chapter.aux"), []byte("\\relax"), 0o644)) // where there is no LaTeX
	must(t, study.CheckFolder(filepath.Dir(dir)))
	must(t, os.WriteFile(filepath.Join(dir, "conclusion.tex"), []byte("Mine."), 0o644))
	if err := study.CheckFolder(filepath.Dir(dir)); err == nil || !strings.Contains(err.Error(), "conclusion.tex was added") {
		t.Errorf("with a file of the scholar's own the folder may be written: %v", err)
	}
}

// compiles sets the demonstration's chapter by Debian's LaTeX and looks at what
// came of it: references and citations found, no line in the margin, typefaces
// embedded, and on the pages every number of every table and every caption.
func compiles(t *testing.T, results *report.Results, dir string) {
	chaptertest.Need(t)
	chaptertest.LaTeX(t, dir, "chapter")
	if said := chaptertest.Run(t, dir, "bibtex", "chapter"); strings.Contains(said, "Warning") {
		t.Errorf("BibTeX warns:\n%s", said)
	}
	chaptertest.LaTeX(t, dir, "chapter")
	chaptertest.LaTeX(t, dir, uncompressed)
	settle(t, dir, uncompressed)
	checkLog(t, chaptertest.Log(t, dir, "chapter"), overfull)
	checkDescribed(t, results, dir)
	checkFonts(t, chaptertest.Run(t, dir, "pdffonts", "chapter.pdf"))
	checkFilled(t, dir)

	read := squeezed(chaptertest.Text(t, dir, "chapter"))
	rows := map[string]bool{}
	for line := range strings.Lines(chaptertest.Run(t, dir, "pdftotext", "-layout", "-enc", "UTF-8", "chapter.pdf", "-")) {
		rows[squeezed(line)] = true
	}
	if want := squeezed("E. Łasica & T_W {100 % #3} ~^ Wřel"); !strings.Contains(read, want) {
		t.Errorf("the author is not printed as %q", want)
	}
	numbers, captions := 0, 0
	for _, section := range results.Printed() {
		for _, part := range section.Parts {
			for _, f := range part.Figures {
				captions++
				checkCaption(t, read, f.Name, f.Caption)
			}
			for _, table := range part.Tables {
				captions++
				checkCaption(t, read, table.Name, table.Caption())
				numbers += checkTable(t, rows, table)
			}
			for _, said := range part.Said {
				for _, p := range said.Paragraphs {
					for _, number := range numbersIn.FindAllString(p, -1) {
						checkCaption(t, read, section.ID, number)
					}
				}
			}
		}
	}
	if numbers < 2000 || captions < 40 {
		t.Errorf("only %d numbers of tables and %d captions were looked for", numbers, captions)
	}
}

// checkDescribed wants the file to name itself, its author and its language, and every
// figure to say what it shows to who cannot see it.
func checkDescribed(t *testing.T, results *report.Results, dir string) {
	file, err := os.ReadFile(filepath.Join(dir, "chapter.pdf"))
	must(t, err)
	if said := chaptertest.Run(t, dir, "pdfinfo", "-enc", "UTF-8", "chapter.pdf"); !strings.Contains(said, results.Meta.Title) || !strings.Contains(said, results.Meta.Author) {
		t.Errorf("the file does not tell title and author:\n%s", said)
	}
	if !bytes.Contains(file, []byte("/Lang (en) /ViewerPreferences")) {
		t.Error("the file does not tell its language")
	}
	figures := 0
	for _, section := range results.Printed() {
		for _, part := range section.Parts {
			for _, f := range part.Figures {
				figures++
				code := "/Alt <FEFF"
				for _, unit := range utf16.Encode([]rune(f.Alt)) {
					code += fmt.Sprintf("%04X", unit)
				}
				if f.Alt == "" || !bytes.Contains(file, []byte(code+">")) {
					t.Errorf("the figure %s does not say what it shows: %q", f.Name, f.Alt)
				}
			}
		}
	}
	if figures < 10 {
		t.Errorf("only %d figures", figures)
	}
}

var (
	numbersIn = regexp.MustCompile(`−?\d+\.\d+`)
	outwards  = regexp.MustCompile(`Overfull \\hbox \(([\d.]+)pt too wide\)`)
)

// checkLog looks for what LaTeX complains of, and for lines that stand out further than
// overfull.
func checkLog(t *testing.T, log string, overfull float64) {
	t.Helper()
	table := ""
	for line := range strings.Lines(log) {
		for _, complaint := range []string{"undefined", "multiply defined", "Missing character", "LaTeX Warning", "Overfull \\vbox", "Rerun to get"} {
			if strings.Contains(line, complaint) {
				t.Errorf("LaTeX says: %s", line)
			}
		}
		if at := strings.LastIndex(line, "(./tables/"); at >= 0 {
			table, _, _ = strings.Cut(line[at+1:], ")")
		}
		if found := outwards.FindStringSubmatch(line); found != nil {
			if by, err := strconv.ParseFloat(found[1], 64); err != nil || by > overfull {
				t.Errorf("LaTeX says, at %s or after: %s", strings.TrimSpace(table), line)
			}
		}
	}
}

// checkFonts wants all typefaces embedded, as outlines.
func checkFonts(t *testing.T, listed string) {
	t.Helper()
	lines := strings.Split(strings.TrimSpace(listed), "\n")
	if len(lines) < 6 {
		t.Fatalf("the chapter has few typefaces:\n%s", listed)
	}
	for _, line := range lines[2:] {
		fields := strings.Fields(line)
		// … emb sub uni object ID, in the last five columns
		if n := len(fields); n < 6 || fields[n-5] != "yes" || strings.Contains(line, "Type 3") {
			t.Errorf("a typeface is not embedded as outlines: %s", line)
		}
	}
}

func checkCaption(t *testing.T, read, name, caption string) {
	t.Helper()
	if !strings.Contains(read, squeezed(caption)) {
		t.Errorf("%s: not on the pages: %s", name, caption)
	}
}

// checkTable wants the numbers of each row that stand side by side on one line, in
// their order, and counts all numbers.
func checkTable(t *testing.T, rows map[string]bool, table grid.Grid) int {
	t.Helper()
	count := 0
	for _, panel := range table.Panels {
		for _, row := range panel.Rows {
			numbers, run := 0, ""
			for k, cell := range row {
				for _, p := range cell.Parts {
					if p.IsNumber() {
						numbers++
					}
				}
				if table.Heads[k].Number {
					run += cell.Text()
				}
				if k+1 < len(row) && table.Heads[k+1].Number {
					continue
				}
				if want := squeezed(run); numbers > 0 && !onALine(rows, want) {
					t.Errorf("%s: no line of the pages has the row %s: %s", table.Name, row[0].Text(), want)
				}
				run = ""
			}
			count += numbers
		}
	}
	return count
}

func onALine(rows map[string]bool, want string) bool {
	for line := range rows {
		if strings.Contains(line, want) {
			return true
		}
	}
	return false
}

// squeezed is text without blanks and hyphens, which LaTeX sets at the ends of its
// lines, and with ligatures as their letters.
func squeezed(text string) string {
	text = strings.NewReplacer("-", "", "\u2010", "", " ", "", "'", "’").Replace(chaptertest.Plain(text))
	return norm.NFKC.String(text)
}

// holdsTogether looks at the chapter's files without LaTeX: what is
// input is there, what is there is input, and works cited and listed are the same.
func holdsTogether(t *testing.T, dir string) {
	main := readFile(t, dir, "chapter.tex")
	inputs := map[string]bool{"chapter.tex": true, "references.bib": true}
	for _, found := range regexp.MustCompile(`(?m)^\\input\{(.+)\}$`).FindAllStringSubmatch(main, -1) {
		if name := found[1] + ".tex"; inputs[name] {
			t.Errorf("%s is input twice", name)
		} else {
			inputs[name] = true
		}
	}
	must(t, filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if name = filepath.ToSlash(name); !inputs[name] {
			t.Errorf("%s is input by nothing", name)
		}
		delete(inputs, name)
		if strings.HasPrefix(name, "figures/") {
			drawn := strings.TrimSuffix(filepath.Base(name), ".tex") + ".pdf"
			if _, err := os.Stat(filepath.Join(dir, "..", "figures", drawn)); err != nil {
				t.Error(err)
			}
		}
		return err
	}))
	if len(inputs) > 0 {
		t.Errorf("there is no %v", inputs)
	}
	words, err := filepath.Glob(filepath.Join(dir, "words", "*.tex"))
	must(t, err)
	text := readFile(t, dir, "methods.tex")
	for _, path := range words {
		text += readFile(t, "", path)
	}
	checkWorks(t, text, readFile(t, dir, "references.bib"))
}

func readFile(t *testing.T, dir, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, name))
	must(t, err)
	return string(text)
}

func checkWorks(t *testing.T, text, works string) {
	t.Helper()
	cited, listed := map[string]bool{}, map[string]bool{}
	for _, found := range regexp.MustCompile(`\\cite(?:p|t|alp)\{([^}]+)\}`).FindAllStringSubmatch(text, -1) {
		for _, key := range strings.Split(found[1], ",") {
			cited[key] = true
		}
	}
	for _, found := range regexp.MustCompile(`(?m)^@[a-z]+\{([^,]+),$`).FindAllStringSubmatch(works, -1) {
		listed[found[1]] = true
	}
	if len(cited) < 15 || fmt.Sprint(cited) != fmt.Sprint(listed) {
		t.Errorf("cited are %v, listed %v", cited, listed)
	}
	if named := regexp.MustCompile(`\p{Lu}\p{Ll}+ (?:18|19|20)\d\d`).FindAllString(text, -1); len(named) > 0 {
		t.Errorf("the words name works without citing them: %v", named)
	}
}
