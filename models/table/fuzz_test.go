package table_test

import (
	"bytes"
	"math"
	"testing"

	"thumbed/models/table"
)

// No text makes reading fail other than by problems; all columns of what is
// read are of one length, every number finite or missing, and lines ascend;
// and what is read and written reads back the same.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"", "a", "a,b\n1,2\n", "\ufeffa,b\r\n1,\"x\ny\"\r\n", "a;b\n1;2\n", "a,b\n1\n", "a,a\n", "a,,\n1,2\n", "a\n\"\n", "a\nb\"c\n",
		"a\rb\rc", "a,b\n\xe9,1\n", "a\n1\x002\n", "\xff\xfea\x00", "a\n1e999\n0x10\nNaN\n", "a\n\r\r\n1\n", "?;,\n", "\ufeff\ufeffa,b\n", "PK\x03\x04", "a,b\n ,\t\n1,\u00a0\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var ps table.Problems
		read := table.Read("log.csv", data, &ps)
		for _, p := range ps.List() {
			if p.String() == "" || p.Expected == "" || p.Remedy == "" || p.Line == 0 {
				t.Errorf("a problem without its parts: %#v", p)
			}
		}
		if read == nil {
			if ps.Len() == 0 {
				t.Error("no table and no problem")
			}
			return
		}
		line := 0
		for i := range read.Rows() {
			if read.Line(i) <= line {
				t.Fatalf("row %d is in line %d after line %d", i, read.Line(i), line)
			}
			line = read.Line(i)
		}
		for _, c := range read.Columns() {
			if c.Len() != read.Rows() || c.IsNumber() && len(c.Numbers) != read.Rows() {
				t.Fatalf("column %s has %d cells for %d rows", c.Name, c.Len(), read.Rows())
			}
			for _, v := range c.Numbers {
				if math.IsInf(v, 0) {
					t.Fatalf("column %s holds %v", c.Name, v)
				}
			}
		}
		sameAgain(t, read)
	})
}

func sameAgain(t *testing.T, read *table.Table) {
	var out bytes.Buffer
	if err := read.Write(&out); err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	again := table.Read("log.csv", out.Bytes(), &ps)
	if err := ps.Err(); err != nil {
		t.Fatalf("%q does not read back: %v", out.Bytes(), err)
	}
	var second bytes.Buffer
	if err := again.Write(&second); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out.Bytes(), second.Bytes()) {
		t.Fatalf("%q reads back as %q", out.Bytes(), second.Bytes())
	}
}

// Whatever a table says, every problem of it has its parts, and a table in which
// none is found is as its schema says.
func FuzzCheck(f *testing.F) {
	for _, seed := range []string{
		"book,day\nhazel,2026-03-09\n", "book,day,start,pages,floor,dark,mode,sheet\nhazel,2026-03-09,14:05,12,0.01,yes,fixed,a\nhazel,2026-03-09,24:00,401,x,ja,best,a\n",
		"day,book\n,\n0000-00-00,\n", "book\nx\n", "Book,Day\n1,2\n", "book,day,start\na,2026-03-09,é:é0\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var ps table.Problems
		read := table.Read("plan.csv", data, &ps)
		if read == nil || ps.Len() > 0 {
			return
		}
		complete := plan.Check(read, &ps)
		for _, p := range ps.List() {
			if p.Expected == "" || p.Remedy == "" || p.Line == 0 {
				t.Errorf("a problem without its parts: %#v", p)
			}
		}
		if !complete || ps.Len() > 0 {
			return
		}
		seen := map[string]bool{}
		for i := range read.Rows() {
			key := read.Column("book").Label(i) + "\x00" + read.Column("day").Label(i)
			if seen[key] {
				t.Fatalf("the key of row %d stands twice and no problem is told", i)
			}
			seen[key] = true
		}
	})
}
