package plan_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"thumbed/models/hypotheses"
	"thumbed/models/study"
	"thumbed/models/study/plan"
	"thumbed/models/study/portion"
	"thumbed/models/table"
)

const demoPlan = "../../../testdata/plan/pictures.toml"

// assumed is a small plan without a pilot.
const assumed = `title = "Owners"
[question]
words     = "Did lay owners read the evening hours more?"
contrast  = { "owner=lay" = 1 }
direction = "more"
smallest  = 0.05
[model]
outcome = "wear"
fixed   = ["owner", "picture", "office_order"]
[model.levels]
owner   = ["abbey", "lay"]
picture = ["no", "yes"]
[[model.random]]
by    = "book"
terms = ["intercept"]
[[model.random]]
by    = ["book", "section"]
terms = ["intercept"]
[assumed]
fixed = { intercept = 0.2, "picture=yes" = 0.1 }
page  = 0.05
[[assumed.random]]
sd = { intercept = 0.03 }
[[assumed.random]]
sd = { intercept = 0.02 }
[layout]
leaves   = 30
pictures = 0.1
outer    = "hair"
[[section]]
name   = "Matins"
kind   = "hours"
set    = "of the Virgin"
office = "Matins"
pages  = 20
pictures = [1, 5]
[[section]]
name   = "Lauds"
kind   = "hours"
set    = "of the Virgin"
office = "Lauds"
pages  = 24
[[column]]
name   = "owner"
of     = "book"
labels = ["abbey", "lay"]
[[column]]
name   = "hand"
of     = "page"
labels = ["a", "b"]
shares = [0.75, 0.25]
[measuring]
on_page = 0.011
[designs]
books      = [4, 10]
pages      = [20]
placings   = [2]
replicates = 30
[aim]
power = 0.7
[sheet]
books      = ["A", "B"]
pages      = 30
placings   = 3
visits     = 2
again      = 0.2
instrument = "D1"
observers  = ["ann", "bob"]
dates      = ["2026-06-01", "2026-06-02", "2026-06-03"]
`

func written(t testing.TB, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "plan.toml")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func opened(t testing.TB, path string) *plan.Plan {
	t.Helper()
	p, err := plan.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// piloted is the text of the plan by the demonstration study, to be written
// anywhere.
func piloted(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile(demoPlan)
	if err != nil {
		t.Fatal(err)
	}
	dir, err := filepath.Abs("../../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(text), `"../demo"`, `"`+dir+`"`)
}

// TestAPilotTellsThePlan: model, spreads, question and measuring are those of
// the study that was measured.
func TestAPilotTellsThePlan(t *testing.T) {
	p := opened(t, demoPlan)
	s, err := study.Open("../../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := s.Rows("pictures", "")
	if err != nil {
		t.Fatal(err)
	}
	wear, err := s.Wear()
	if err != nil {
		t.Fatal(err)
	}
	fit, err := hypotheses.Sharing(s.Models[0].Model, wear.Shared).Fit(rows)
	if err != nil {
		t.Fatal(err)
	}
	truth := p.Setting.Truth
	for k, r := range fit.Random {
		if !slices.Equal(truth.Random[k].SD, r.SD) {
			t.Errorf("the spreads of random term %d are %v; the pilot has %v", k+1, truth.Random[k].SD, r.SD)
		}
	}
	if clean := truth.Residual.SD; !(clean > 0 && clean < fit.Residual.SD) {
		t.Errorf("single pages differ by %g without the measuring and by %g with it", clean, fit.Residual.SD)
	}
	if q := p.Setting.Question; q.Contrast["picture=yes"] != 1 || q.Direction != "more" || q.Smallest != 0.02 || p.Setting.Effect != 0.05 {
		t.Errorf("the question is %+v for an effect of %g", q, p.Setting.Effect)
	}
	if len(p.Setting.Books) != 4 || len(p.Setting.Designs) != 12 {
		t.Errorf("%d books to draw from and %d designs", len(p.Setting.Books), len(p.Setting.Designs))
	}
	if m := p.Setting.Measuring; m.Instrument.ID != "bench" || m.Zeros != 2 || !(m.OnPage > 0.005 && m.OnPage < 0.02) || !(m.Ground > 0.05 && m.Ground < 0.2) {
		t.Errorf("the measuring is %+v", m)
	}
	careful := opened(t, written(t, strings.Replace(piloted(t), `"averaged"`, `"cautious"`, 1))).Setting.Truth
	for k, r := range fit.Random {
		for j, sd := range r.SD {
			if careful.Random[k].SD[j] <= sd {
				t.Errorf("%v by %v: the cautious spread %g is not above the estimate %g", r.Terms[j], r.By, careful.Random[k].SD[j], sd)
			}
		}
	}
}

// TestAPilotAllowsSpreads: the sets of spreads that power is averaged over lie where
// the confidence distribution of a variance between four books has them.
func TestAPilotAllowsSpreads(t *testing.T) {
	p := opened(t, demoPlan)
	s, err := study.Open("../../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := s.Rows("pictures", "")
	if err != nil {
		t.Fatal(err)
	}
	wear, err := s.Wear()
	if err != nil {
		t.Fatal(err)
	}
	fit, err := hypotheses.Sharing(s.Models[0].Model, wear.Shared).Fit(rows)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Setting.Draws) != 25 || len(p.Setting.Spreads) != 5 {
		t.Fatalf("%d sets of the spreads %q", len(p.Setting.Draws), p.Setting.Spreads)
	}
	// of a variance between four books, told on three degrees of freedom, the confidence
	// distribution has above the estimate what χ² has below its own mean: 0.608
	above, most := 0, 0.0
	for _, draw := range p.Setting.Draws {
		sd := draw.Truth.Random[0].SD[1]
		if sd > fit.Random[0].SD[1] {
			above++
		}
		most = max(most, sd)
	}
	if above < 15 || above > 16 || most < 2*fit.Random[0].SD[1] {
		t.Errorf("%d of 25 sets lie above the estimate %.4f, the largest at %.4f", above, fit.Random[0].SD[1], most)
	}
	if p.Setting.Truth.Random[0].SD[1] != fit.Random[0].SD[1] {
		t.Error("the spreads as estimated are no longer there")
	}
}

// TestAStudyIsPlannedWhole: a study is planned for by what it asks itself. A question
// that the demonstration asks book by book, its families apart, has as many answers
// as there are books: the more books, the less error is left to each.
func TestAStudyIsPlannedWhole(t *testing.T) {
	text := piloted(t)
	for from, to := range map[string]string{
		"model   = \"pictures\"\n": "", "[question]\nwords  = \"Do pictures attract handling?\"": "", "effect = 0.05": "", "spreads = \"averaged\"": "spreads = \"as estimated\"",
		"books      = [4, 8, 12]": "books = [4, 8]", "replicates = 200": "replicates = 100", "pages      = [40, 80]": "pages = [40]", "placings   = [1, 3]": "placings = [2]"} {
		if !strings.Contains(text, from) {
			t.Fatalf("the plan has no %q", from)
		}
		text = strings.Replace(text, from, to, 1)
	}
	path := written(t, text)
	if !plan.Names(path) || plan.Names(demoPlan) || !plan.Names("../../../testdata/demo") || !plan.Names("../../../testdata/demo/study.toml") {
		t.Fatal("what is a study, and what a plan of one model, is not told apart")
	}
	all, err := plan.OpenSeveral(path)
	if err != nil {
		t.Fatal(err)
	}
	other := func(left string) bool { return !strings.Contains(left, "no effect to plan for") }
	if len(all.Plans) != 10 || len(all.Left) == 0 || slices.ContainsFunc(all.Left, other) {
		t.Fatalf("%d plans, and left: %q", len(all.Plans), all.Left)
	}
	half := all.Plans[5]
	if !half.Setting.Named || len(half.Setting.Books) != 1 {
		t.Errorf("the question on one book is planned for with %d", len(half.Setting.Books))
	}
	result, err := all.Plans[3].Try(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []int{4, 8} {
		tried := result.Result.Designs[k]
		if tried.Together != want || math.Abs(tried.Alone-0.05/float64(want)) > 1e-9 {
			t.Errorf("with %d books %d answers hold at once, each at %.4f; want %d at %.4f", tried.Books, tried.Together, tried.Alone, want, 0.05/float64(want))
		}
		if pages := 40 * float64(tried.Books); math.Abs(tried.PagesMean-pages) > 1 {
			t.Errorf("with %d books %.0f pages are measured", tried.Books, tried.PagesMean)
		}
	}
	if a, b := result.Result.Designs[0].Width, result.Result.Designs[1].Width; b < a {
		t.Errorf("among more answers the interval is %.4f wide, among fewer %.4f", b, a)
	}
}

// TestALayoutMakesBooks: texts, pictures and columns of the layout are those of
// the pages.
func TestALayoutMakesBooks(t *testing.T) {
	p := opened(t, written(t, assumed))
	book := p.Setting.Books[0]
	count := func(column, label string) (n int) {
		for i := range book.Rows() {
			if book.Column(column).Label(i) == label {
				n++
			}
		}
		return n
	}
	if book.Rows() != 60 || count("office", "Matins") != 20 || count("office", "Lauds") != 24 || count("section", "") != 16 {
		t.Errorf("%d pages, %d of Matins, %d of Lauds", book.Rows(), count("office", "Matins"), count("office", "Lauds"))
	}
	if got := count("picture", "yes"); got != 2+4 { // those named, and a tenth of the other 40
		t.Errorf("%d pictures; 6 were asked for", got)
	}
	if got := count("hand", "b"); math.Abs(float64(got)-15) > 1 {
		t.Errorf("%d of 60 pages by hand b; a quarter was asked for", got)
	}
	if count("quire", "1") != 16 || count("hair", "hair") != 32 && count("hair", "hair") != 28 && count("hair", "hair") != 30 {
		t.Errorf("%d pages in the first quire, %d on the hair side", count("quire", "1"), count("hair", "hair"))
	}
}

// TestALayoutOfOddQuires: where leaves do not come to whole sheets the last of a
// quire is single.
func TestALayoutOfOddQuires(t *testing.T) {
	for _, leaves := range []string{"31", "29\nquire = 5", "30\nquire = 7"} {
		p := opened(t, written(t, strings.Replace(assumed, "leaves   = 30", "leaves   = "+leaves, 1)))
		if book := p.Setting.Books[0]; book.Rows() < 58 {
			t.Errorf("%s: %d pages", leaves, book.Rows())
		}
	}
}

// TestAPlanIsTriedWholeAndInParts: the parts put together are the whole, to the
// last digit of every number; the folder is whole and is replaced only as long
// as it is ours.
func TestAPlanIsTriedWholeAndInParts(t *testing.T) {
	p := opened(t, written(t, assumed))
	result, err := p.Try(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	var paths []string
	for k := range 3 {
		share := portion.Portion{Part: k + 1, Parts: 3}
		file, err := p.Part(context.Background(), share, nil)
		if err != nil {
			t.Fatal(err)
		}
		paths = append(paths, filepath.Join(t.TempDir(), share.Name()))
		if err := file.Write(paths[k]); err != nil {
			t.Fatal(err)
		}
	}
	gathered, err := portion.Gather(paths)
	if err != nil {
		t.Fatal(err)
	}
	again, err := p.Gather(gathered)
	if err != nil {
		t.Fatal(err)
	}
	other := opened(t, written(t, strings.Replace(assumed, "page  = 0.05", "page  = 0.06", 1)))
	if _, err := other.Gather(gathered); err == nil || !strings.Contains(err.Error(), "no longer") {
		t.Errorf("parts of another plan: error %v", err)
	}
	want, err := result.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if got, err := again.JSON(); err != nil || !bytes.Equal(got, want) {
		t.Errorf("the parts give other numbers (%v)", err)
	}
	if r := result.Result; !(r.Designs[0].Power.Value < r.Designs[1].Power.Value) || r.Designs[0].Failed > 0 {
		t.Errorf("four books have a power of %.2f, ten of %.2f; %d failed: %s", r.Designs[0].Power.Value, r.Designs[1].Power.Value, r.Designs[0].Failed, r.Designs[0].Why)
	}
	dir := filepath.Join(t.TempDir(), "out")
	for range 2 { // the second time over the first
		if err := p.Write(result, dir); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"index.html", "results.json", "record.json", "figures/power.pdf", "figures/width.svg", "tables/designs.csv", "tables/designs.schema.json"} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	page, err := os.ReadFile(filepath.Join(dir, "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	for _, words := range []string{"Did lay owners", "<svg class=\"chart\"", "standard deviation between single pages", "No contact with loose paint"} {
		if !strings.Contains(string(page), words) {
			t.Errorf("the page does not say %q", words)
		}
	}
	rerun, err := plan.Repeat(context.Background(), dir, "", nil)
	if err != nil || !rerun.Agrees() {
		t.Errorf("the plan does not come again: %v", err)
	}
	if err := os.WriteFile(filepath.Join(dir, "mine.txt"), []byte("kept"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := p.Write(result, dir); err == nil {
		t.Error("a folder with a stranger's file was replaced")
	}
}

// TestTheTableOfDesignsFollowsItsSchema.
func TestTheTableOfDesignsFollowsItsSchema(t *testing.T) {
	p := opened(t, written(t, strings.Replace(assumed, "replicates = 30", "replicates = 20", 1)))
	result, err := p.Try(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "out")
	if err := p.Write(result, dir); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "tables", "designs.schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	var schema table.Schema
	if err := json.Unmarshal(text, &schema); err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	if designs := table.ReadFile(filepath.Join(dir, "tables", "designs.csv"), &ps); !schema.Check(designs, &ps) || ps.Err() != nil || designs.Rows() != 2 {
		t.Errorf("%v", ps.Err())
	}
}

// TestEveryProblemOfAPlanIsToldAtOnce puts many mistakes into one file and wants
// each of them, at its line.
func TestEveryProblemOfAPlanIsToldAtOnce(t *testing.T) {
	mistakes := []struct{ is, was string }{
		{`titel = "Owners"`, `title = "Owners"`},
		{`page  = -1`, `page  = 0.05`},
		{`sd = { intercept = "much" }`, `sd = { intercept = 0.03 }`},
		{`leaves   = 1`, `leaves   = 30`},
		{`outer    = "skin"`, `outer    = "hair"`},
		{`pictures = [1, 50]`, `pictures = [1, 5]`},
		{`of     = "opening"`, `of     = "page"`},
		{`shares = [0.75, 0.75]`, `shares = [0.75, 0.25]`},
		{`books      = [0, 10]`, `books      = [4, 10]`},
		{`replicates = 1`, `replicates = 30`},
		{`power = 80`, `power = 0.7`},
		{`placings   = 0`, `placings   = 3`},
		{`dates      = ["2026-06-02", "2026-06-01", "soon"]`, `dates      = ["2026-06-01", "2026-06-02", "2026-06-03"]`},
		{`outcome = "soot"`, `outcome = "wear"`},
	}
	text := assumed
	for _, m := range mistakes {
		if !strings.Contains(text, m.was) {
			t.Fatalf("%q is not in the plan", m.was)
		}
		text = strings.Replace(text, m.was, m.is, 1)
	}
	path := written(t, text)
	_, err := plan.Open(path)
	if err == nil {
		t.Fatal("nothing is wrong")
	}
	told := err.Error()
	for line, words := range strings.Split(text, "\n") {
		for _, m := range mistakes {
			if words == m.is && !strings.Contains(told, fmt.Sprintf("line %d,", line+1)) {
				t.Errorf("line %d (%s) is not told", line+1, words)
			}
		}
	}
}

// TestWhatAPlanNamesIsLookedAt: terms, models, questions and books that are not
// there are told with the line and what is nearest.
func TestWhatAPlanNamesIsLookedAt(t *testing.T) {
	pilot := piloted(t)
	for _, c := range []struct{ text, was, is, told string }{
		{pilot, `model   = "pictures"`, `model   = "picture"`, `perhaps "pictures" was meant`},
		{pilot, `"Do pictures attract handling?"`, `"Do pictures attract hands?"`, `perhaps "Do pictures attract handling?" was meant`},
		{pilot, `effect = 0.05`, `effect = -0.05`, "asked direction"},
		{assumed, `"owner=lay" = 1`, `"owner=layman" = 1`, `perhaps "owner=lay" was meant`},
		{assumed, `fixed   = ["owner", "picture", "office_order"]`, `fixed   = ["owner", "pictur"]`, "picture"},
		{assumed, `"picture=yes" = 0.1`, `"picture=maybe" = 0.1`, "a fixed effect of the model"},
		{assumed, `smallest  = 0.05`, ``, "the effect that the power is for"},
		{assumed, "[assumed]\n", "[pilot]\nstudy = \"x\"\nmodel = \"y\"\n[assumed]\n", "either [pilot] or [model]"},
		{assumed, `on_page = 0.011`, ``, "standard deviation of one placing"},
		{assumed, assumed[strings.Index(assumed, "[[section]]"):strings.Index(assumed, "[[column]]")], "", "texts in the layout, since the model looks at them"},
	} {
		text := strings.Replace(c.text, c.was, c.is, 1)
		if text == c.text {
			t.Fatalf("%q is not in the plan", c.was)
		}
		if _, err := plan.Open(written(t, text)); err == nil || !strings.Contains(err.Error(), c.told) {
			t.Errorf("%q: error %v; expected one that says %q", c.is, err, c.told)
		}
	}
	if _, err := plan.Open(t.TempDir()); err == nil || !strings.Contains(err.Error(), "a plan file") {
		t.Errorf("a folder: %v", err)
	}
}

func FuzzPlanFile(f *testing.F) {
	f.Add([]byte(assumed))
	f.Add([]byte("[sheet]\npages = 3\n[model.random]\nx = 1\n[[section]]\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if bytes.Contains(text, []byte("study")) || len(text) > 1<<14 {
			return // other files are not read here, nor large books made
		}
		path := filepath.Join(t.TempDir(), "plan.toml")
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
		if p, err := plan.Open(path); err == nil && p.Setting.Check() != nil {
			t.Errorf("a plan that cannot be tried was opened: %v", p.Setting.Check())
		}
	})
}
