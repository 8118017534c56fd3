package intake

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/table"
)

// TestPublishedRecords reads every record below the folder that the environment
// names in THUMBED_RECORDS (make records FOLDER=…), prints what became of them,
// and holds those of the gold standard against it. The records themselves are the
// libraries' own and are no part of the project.
func TestPublishedRecords(t *testing.T) {
	root := os.Getenv("THUMBED_RECORDS")
	if root == "" {
		t.Skip("make records FOLDER=… reads a folder of published records")
	}
	gold := readGold(t)
	tally := newTally()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !slices.Contains([]string{".xml", ".json"}, filepath.Ext(path)) {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(data)
		tally.add(path, gold[hex.EncodeToString(sum[:])])
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	fmt.Print(tally)
}

// An expected is what a cataloguer reads in one record.
type expected struct {
	id, half             string
	leaves, lost, quires int
	texts                []expectedText
	pictures             []string
}

type expectedText struct{ extent, or, kind, set, office string }

// readGold reads the gold standard, record by record by the checksum of its file.
func readGold(t *testing.T) map[string]*expected {
	read := func(name string) [][]string {
		data, err := os.ReadFile(filepath.Join("testdata", "gold", name))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return rows[1:]
	}
	number := func(text string) int { n, _ := strconv.Atoi(text); return n }
	gold, byID := map[string]*expected{}, map[string]*expected{}
	for _, row := range read("records.csv") {
		e := &expected{id: row[0], half: row[1], leaves: number(row[6]), lost: number(row[7]), quires: number(row[8])}
		gold[row[5]], byID[e.id] = e, e
	}
	for _, row := range read("texts.csv") {
		byID[row[0]].texts = append(byID[row[0]].texts, expectedText{spelt(row[1]), spelt(row[2]), row[3], row[4], row[5]})
	}
	for _, row := range read("pictures.csv") {
		byID[row[0]].pictures = append(byID[row[0]].pictures, row[1])
	}
	return gold
}

// spelt is an extent as the program writes it, with pages that follow on in one range.
func spelt(text string) string {
	e, err := codex.ParseExtent(text)
	if err != nil {
		return text
	}
	var out []codex.Range
	for _, r := range e.Ranges {
		if last := len(out) - 1; last >= 0 {
			next := out[last].To
			if next.Side++; next.Side > codex.Verso {
				next.Side, next.Folio.Number = codex.Recto, next.Folio.Number+1
			}
			if next == r.From {
				out[last].To = r.To
				continue
			}
		}
		out = append(out, r)
	}
	return codex.Extent{Ranges: out}.String()
}

// A score counts what was found of what was expected.
type score struct{ right, found, expected int }

func (s score) String() string {
	share := func(n, of int) string {
		if of == 0 {
			return "–"
		}
		return fmt.Sprintf("%.1f %%", 100*float64(n)/float64(of))
	}
	return fmt.Sprintf("%d of %d expected, precision %s, recall %s", s.right, s.expected, share(s.right, s.found), share(s.right, s.expected))
}

// compare counts how many of a list are in another, each once.
func (s *score) compare(found, expected []string) (wrong, missed []string) {
	rest := slices.Clone(expected)
	for _, f := range found {
		if at := slices.Index(rest, f); at >= 0 {
			s.right++
			rest = slices.Delete(rest, at, at+1)
		} else {
			wrong = append(wrong, f)
		}
	}
	s.found += len(found)
	s.expected += len(expected)
	return wrong, rest
}

type tally struct {
	files, refused int
	kinds          map[string]*[3]int // used, inferred, left
	shares         map[string][]float64
	scores         map[string]map[string]*score
	faults         []string
}

func newTally() *tally {
	return &tally{kinds: map[string]*[3]int{}, shares: map[string][]float64{}, scores: map[string]map[string]*score{}}
}

func (ta *tally) add(path string, want *expected) {
	ta.files++
	read := TEI
	if filepath.Ext(path) == ".json" {
		read = IIIF
	}
	made, err := read(path)
	if err != nil {
		ta.refused++
		ta.shares["all records"] = append(ta.shares["all records"], 0)
		if want != nil {
			ta.faults = append(ta.faults, want.id+": refused: "+err.Error())
			ta.judge(want, nil, &catalogue.Account{})
		}
		return
	}
	for i, entries := range [][]catalogue.Entry{made.Account.Used, made.Account.Inferred, made.Account.Left} {
		for _, e := range entries {
			kind := kindOfEntry(e.What)
			if ta.kinds[kind] == nil {
				ta.kinds[kind] = &[3]int{}
			}
			ta.kinds[kind][i]++
		}
	}
	books := loaded(made)
	for _, b := range books {
		in := 0
		for i := range b.Leaves {
			if b.Pages[2*i].Section >= 0 || b.Pages[2*i+1].Section >= 0 {
				in++
			}
		}
		share := float64(in) / float64(len(b.Leaves))
		ta.shares["all records"] = append(ta.shares["all records"], share)
		ta.shares["records not refused"] = append(ta.shares["records not refused"], share)
	}
	if want != nil {
		ta.judge(want, books, made.Account)
	}
}

// loaded are the books of the tables that an import made.
func loaded(made *Import) []*codex.Book {
	tables := map[string]*table.Table{}
	for _, t := range made.Tables {
		tables[t.Name] = t.Table
	}
	var ps table.Problems
	books := codex.FromTables(codex.Tables{Books: tables["books.csv"], Leaves: tables["leaves.csv"], Pages: tables["pages.csv"], Sections: tables["sections.csv"]}, &ps)
	if err := ps.Err(); err != nil {
		panic(fmt.Sprintf("%s: %v", made.Account.File, err))
	}
	return books
}

// kindOfEntry groups what accounts tell of by their first words.
func kindOfEntry(what string) string {
	for prefix, kind := range map[string]string{"the text": "texts", "a text": "texts", "the decoration": "pictures and decoration", "the extent": "leaves", "the leaves": "leaves", "the leaf": "leaves", "the foliation": "leaves", "the loss": "lost leaves",
		"the collation": "collations", "the list of quires": "collations", "the quire": "collations", "the set of hours": "sets of hours", "the blank pages": "blank pages", "the material": "material"} {
		if strings.HasPrefix(what, prefix) {
			return kind
		}
	}
	return "other"
}

func (ta *tally) judge(want *expected, books []*codex.Book, account *catalogue.Account) {
	scores := ta.scores[want.half]
	if scores == nil {
		scores = map[string]*score{"text extents": {}, "kinds and sets": {}, "picture pages": {}, "counts of leaves": {}, "lost leaves": {}, "counts of quires": {}}
		ta.scores[want.half] = scores
	}
	used := map[int]bool{}
	var texts, kinds, wanted, wantedKinds, pictures []string
	for _, text := range account.Texts {
		texts = append(texts, text.Extent.String())
	}
	for _, w := range want.texts {
		extent := w.extent
		if w.or != "" && !slices.Contains(texts, w.extent) && slices.Contains(texts, w.or) {
			extent = w.or
		}
		wanted = append(wanted, extent)
		if w.kind == "" {
			continue
		}
		wantedKinds = append(wantedKinds, fmt.Sprint(extent, w.kind, w.set, w.office))
		for i, text := range account.Texts {
			if text.Extent.String() == extent && !used[i] {
				used[i] = true
				kinds = append(kinds, fmt.Sprint(extent, text.Kind, text.Set, text.Office))
				break
			}
		}
	}
	leaves, lost, quires := 0, 0, 0
	for _, b := range books {
		quires += len(b.Quires)
		for _, leaf := range b.Leaves {
			if leaf.State == codex.Lost {
				lost++
			} else {
				leaves++
			}
		}
		for _, page := range b.Pages {
			if page.Picture {
				pictures = append(pictures, page.Label.String())
			}
		}
	}
	number := func(n int) []string { return []string{strconv.Itoa(n)} }
	for _, part := range []struct {
		name            string
		found, expected []string
	}{
		{"text extents", texts, wanted}, {"kinds and sets", kinds, wantedKinds}, {"picture pages", pictures, want.pictures},
		{"counts of leaves", number(leaves), number(want.leaves)}, {"lost leaves", number(lost), number(want.lost)}, {"counts of quires", number(quires), number(want.quires)},
	} {
		wrong, missed := scores[part.name].compare(part.found, part.expected)
		if len(wrong)+len(missed) > 0 {
			ta.faults = append(ta.faults, fmt.Sprintf("%s, %s: not expected %v; missed %v", want.id, part.name, wrong, missed))
		}
	}
}

func (ta *tally) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d records, %d refused\n\n%-26s %8s %8s %8s\n", ta.files, ta.refused, "kind of fact", "used", "inferred", "left")
	for _, kind := range slices.Sorted(maps.Keys(ta.kinds)) {
		n := ta.kinds[kind]
		fmt.Fprintf(&b, "%-26s %8d %8d %8d\n", kind, n[0], n[1], n[2])
	}
	b.WriteString("\nshare of leaves in a named text: lower quarter, median, upper quarter\n")
	for _, name := range slices.Sorted(maps.Keys(ta.shares)) {
		shares := slices.Sorted(slices.Values(ta.shares[name]))
		fmt.Fprintf(&b, "%-26s %7.0f%% %7.0f%% %7.0f%%\n", name, 100*shares[len(shares)/4], 100*shares[len(shares)/2], 100*shares[3*len(shares)/4])
	}
	for _, half := range slices.Sorted(maps.Keys(ta.scores)) {
		fmt.Fprintf(&b, "\nthe gold standard, %s records\n", half)
		for _, name := range slices.SortedFunc(maps.Keys(ta.scores[half]), func(x, y string) int { return cmp.Compare(y, x) }) {
			fmt.Fprintf(&b, "  %-18s %s\n", name, ta.scores[half][name])
		}
	}
	if ta.faults != nil {
		fmt.Fprintf(&b, "\nwhere they differ\n  %s\n", strings.Join(ta.faults, "\n  "))
	}
	return b.String()
}
