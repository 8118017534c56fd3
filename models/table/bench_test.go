package table_test

import (
	"bytes"
	"fmt"
	"io"
	"testing"

	"thumbed/models/table"
)

// logText is an invented readings log of so many rows, 13 columns each.
func logText(rows int) []byte {
	var b bytes.Buffer
	writeLogRows(&b, rows)
	return b.Bytes()
}

func writeLogRows(out io.Writer, rows int) {
	fmt.Fprintln(out, "book,page,date,time,instrument,observer,target,spot,tried,density,excluded,note,own")
	for i := range rows {
		fmt.Fprintf(out, "hazel,%d%c,2026-03-%02d,%02d:%02d,head-1,M. Tanner,page,fixed,%d,%.3f,,,%d\n",
			i/6%150+1, "rv"[i/3%2], i/9000%28+1, 9+i/900%8, i/15%60, 1+i%3, 0.1+float64(i%997)/1000, i)
	}
}

func BenchmarkRead(b *testing.B) {
	data := logText(100_000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		var ps table.Problems
		if read := table.Read("log.csv", data, &ps); read.Rows() != 100_000 || ps.Len() != 0 {
			b.Fatal(ps.Err())
		}
	}
	b.ReportMetric(float64(100_000*13)*float64(b.N)/b.Elapsed().Seconds(), "cells/s")
}

func BenchmarkCheck(b *testing.B) {
	var ps table.Problems
	read := table.Read("log.csv", logText(100_000), &ps)
	b.ReportAllocs()
	for b.Loop() {
		if !logSchema.Check(read, &ps) || ps.Len() != 0 {
			b.Fatal(ps.Err())
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	var ps table.Problems
	read := table.Read("log.csv", logText(100_000), &ps)
	b.ReportAllocs()
	for b.Loop() {
		if err := read.Write(&bytes.Buffer{}); err != nil {
			b.Fatal(err)
		}
	}
}
