package mixed_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

func parse(t testing.TB, text string) mixed.Model {
	t.Helper()
	m, err := mixed.ParseModel("model.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func benchmarkReference(b *testing.B, name string) {
	for _, r := range loadReferences(b) {
		if r.Name != name {
			continue
		}
		data := loadTable(b, r.Data)
		m := parse(b, r.Model)
		b.ReportAllocs()
		for b.Loop() {
			if _, err := m.Fit(data); err != nil {
				b.Fatal(err)
			}
		}
		return
	}
	b.Fatalf("no reference named %q", name)
}

func BenchmarkSleepstudy(b *testing.B) {
	benchmarkReference(b, "sleepstudy, intercept and slope correlated")
}
func BenchmarkPenicillin(b *testing.B) { benchmarkReference(b, "Penicillin, crossed") }
func BenchmarkOvary(b *testing.B) {
	benchmarkReference(b, "Ovary, autoregression along the cycle")
}
func BenchmarkInstEval(b *testing.B) { benchmarkReference(b, "InstEval, three crossed terms") }

// corpus is an invented corpus: rows on books of 150 pages in quires of 8, a
// slope of the picture's effect by book, intercepts by quire within the book.
func corpus(rows int) *table.Table {
	const pages, inQuire = 150, 8
	r := rand.New(rand.NewPCG(4, 4))
	book, quire, picture := make([]string, rows), make([]string, rows), make([]string, rows)
	wear := make([]float64, rows)
	var level, slope, own float64
	var bookName, quireName string
	shown := [...]string{"no", "yes"}
	for i := range rows {
		if i%pages == 0 {
			bookName = fmt.Sprint("book ", i/pages)
			level, slope = 0.4*r.NormFloat64(), 0.2*r.NormFloat64()
		}
		if i%pages%inQuire == 0 {
			quireName = fmt.Sprint(i % pages / inQuire)
			own = 0.2 * r.NormFloat64()
		}
		k := r.IntN(2)
		book[i], quire[i], picture[i] = bookName, quireName, shown[k]
		wear[i] = 1 + level + float64(k)*(0.3+slope) + own + 0.5*r.NormFloat64()
	}
	t, err := table.New(table.Labels("book", book), table.Labels("quire", quire), table.Labels("picture", picture), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	return t
}

const corpusModel = `outcome = "wear"
fixed = ["picture"]
[levels]
picture = ["no", "yes"]
[[random]]
by = "book"
terms = ["intercept", "picture"]
correlated = true
[[random]]
by = ["book", "quire"]
terms = ["intercept"]
`

// BenchmarkCorpus shows how the cost grows with the rows of a nested design: the
// exponent reported is that of the rows in the process's computing time, from the
// smallest size to this one; 1 is linear. Computing time, unlike the clock's, does
// not count what other processes of the machine take.
func BenchmarkCorpus(b *testing.B) {
	m := parse(b, corpusModel)
	var least, rowsOfLeast float64
	for _, rows := range []int{10_000, 30_000, 100_000, 1_000_000, 3_000_000} {
		b.Run(fmt.Sprint(rows), func(b *testing.B) {
			data := corpus(rows)
			runtime.GC()
			b.ReportAllocs()
			begun := computingTime(b)
			for b.Loop() {
				if _, err := m.Fit(data); err != nil {
					b.Fatal(err)
				}
			}
			seconds := (computingTime(b) - begun) / float64(b.N)
			b.ReportMetric(seconds/float64(rows)*1e9, "cpu-ns/row")
			if least == 0 {
				least, rowsOfLeast = seconds, float64(rows)
				return
			}
			b.ReportMetric(math.Log(seconds/least)/math.Log(float64(rows)/rowsOfLeast), "exponent")
		})
	}
}

// computingTime is the seconds that the process's threads have computed.
func computingTime(b *testing.B) float64 {
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		b.Fatal(err)
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano()).Seconds()
}

// crossed is an invented table of rows that each belong to one of many readers
// and one of many pages, at random.
func crossed(rows, readers, pages int) *table.Table {
	r := rand.New(rand.NewPCG(5, 5))
	a, b := make([]float64, readers), make([]float64, pages)
	for i := range a {
		a[i] = r.NormFloat64()
	}
	for i := range b {
		b[i] = 0.5 * r.NormFloat64()
	}
	reader, page, wear := make([]string, rows), make([]string, rows), make([]float64, rows)
	for i := range rows {
		x, y := r.IntN(readers), r.IntN(pages)
		reader[i], page[i], wear[i] = fmt.Sprint(x), fmt.Sprint(y), 3+a[x]+b[y]+r.NormFloat64()
	}
	t, err := table.New(table.Labels("reader", reader), table.Labels("page", page), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	return t
}

// What large designs share out over the cores comes to the same digits on any
// number of them.
func TestFitsDoNotDependOnCores(t *testing.T) {
	fits := func(cores int) []string {
		before := runtime.GOMAXPROCS(cores)
		defer runtime.GOMAXPROCS(before)
		var out []string
		for _, c := range []struct {
			model string
			data  *table.Table
		}{
			{corpusModel, corpus(20_000)},
			{"outcome = \"wear\"\nfixed = []\n[[random]]\nby = \"reader\"\nterms = [\"intercept\"]\n[[random]]\nby = \"page\"\nterms = [\"intercept\"]\n", crossed(6_000, 900, 300)},
		} {
			fit := fitted(t, parse(t, c.model), c.data)
			fit.Seconds = 0
			text, err := json.Marshal(fit)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, string(text))
		}
		return out
	}
	if diff := cmp.Diff(fits(1), fits(3)); diff != "" {
		t.Error(diff)
	}
}
