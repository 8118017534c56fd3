package headless_test

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thumbed/kernel/headless"
)

// notebook is one code cell that shows text, and a table in HTML.
func notebook(text, html string) []byte {
	data, err := json.Marshal(map[string]any{
		"nbformat": 4, "nbformat_minor": 5, "metadata": map[string]any{},
		"cells": []any{
			map[string]any{"cell_type": "markdown", "source": "A story with 12 numbers."},
			map[string]any{"cell_type": "code", "source": []string{"%%\n", "show()"}, "outputs": []any{
				map[string]any{"output_type": "stream", "name": "stdout", "text": text},
				map[string]any{"output_type": "display_data", "data": map[string]any{"text/html": html, "image/png": "aGk="}},
			}},
		},
	})
	if err != nil {
		panic(err)
	}
	return data
}

func image(svg string) string {
	return `<img alt="x" src="data:image/svg+xml;base64,` + base64.StdEncoding.EncodeToString([]byte(svg)) + `">`
}

func TestCompare(t *testing.T) {
	for _, c := range []struct {
		name             string
		oldText, oldHTML string
		newText, newHTML string
		want             []string
	}{
		{"the same", "wear 0.310", "<b>2</b>", "wear 0.310", "<b>2</b>", nil},
		{"other words", "the wear is 0.310", "", "wear: 0.310", "", nil},
		{"a digit", "wear 0.310, se 0.02", "", "wear 0.311, se 0.02", "", []string{`code cell 1, after "wear": was 0.310, is now 0.311`}},
		{"fewer digits count", "wear 0.310", "", "wear 0.31", "", []string{`code cell 1, after "wear": was 0.310, is now 0.31`}},
		{"two signs for minus", "effect −0.2", "", "effect -0.2", "", nil},
		{"a lost sign", "effect −0.2", "", "effect 0.2", "", []string{`code cell 1, after "effect": was -0.2, is now 0.2`}},
		{"a number more", "a 1", "", "a 1 b 2", "", []string{`code cell 1, after "a 1 b": shows 2, which is not in the kept notebook`}},
		{"a number less", "a 1 b 2", "", "a 1", "", []string{`code cell 1, after "a 1 b": no longer shows 2, which the kept notebook has`}},
		{"a sentence more", "All 40 pages. The mean is 0.31.", "", "All 40 pages. 3 of 12 readings of 2026-03-02 fail. The mean is 0.31.", "", []string{`code cell 1, after "All 40 pages.": shows 3, 12, 2026-03-02, which is not in the kept notebook`}},
		{"a sentence less", "All 40 pages. 3 of 12 readings fail. The mean is 0.31.", "", "All 40 pages. The mean is 0.31.", "", []string{`code cell 1, after "All 40 pages.": no longer shows 3, 12, which the kept notebook has`}},
		{"a row more", "", "<tr><td>1</td><td>2</td></tr>\n<tr><td>7</td><td>8</td></tr>\n", "", "<tr><td>1</td><td>2</td></tr>\n<tr><td>3</td><td>4</td></tr>\n<tr><td>7</td><td>8</td></tr>\n", []string{`code cell 1, after "1 2": shows 3, 4, which is not in the kept notebook`}},
		{"a date is a date", "on 2026-03-02", "", "on 2026-04-02", "", []string{`code cell 1, after "on": was 2026-03-02, is now 2026-04-02`}},
		{"a date in words", "on 2 March 2026", "", "on 2 April 2026", "", []string{`code cell 1, after "on": was 2 March 2026, is now 2 April 2026`}},
		{"a number in two forms", "wear 0.310", "<p>wear 0.310</p>", "wear 0.311", "<p>wear 0.311</p>", []string{`code cell 1, after "wear": was 0.310, is now 0.311`}},
		{"a number among its like", "a 1 b 2", "", "a 2 b 2", "", []string{`code cell 1, after "a": was 1, is now 2`}},
		{"not a number", "p 0.04", "", "p NaN", "", []string{`code cell 1, after "p": was 0.04, is now NaN`}},
		{"an exponent", "p 1e-7", "", "p 1e-8", "", []string{`code cell 1, after "p": was 1e-7, is now 1e-8`}},
		{"in a table", "", "<td width=5>0.2</td>", "", "<td width=6>0.3</td>", []string{`code cell 1: was 0.2, is now 0.3`}},
		{"the drawing is not read", "", `<svg><path d="M1 2"/><text x="3">4</text></svg>`, "", `<svg><path d="M9 9"/><text x="8">4</text></svg>`, nil},
		{"its labels are", "", `<svg><text x="3">4</text></svg>`, "", `<svg><text x="3">5</text></svg>`, []string{`code cell 1: was 4, is now 5`}},
		{"of an image too", "", image(`<svg><text x="3">4</text></svg>`), "", image(`<svg><text x="9">5</text></svg>`), []string{`code cell 1: was 4, is now 5`}},
		{"an image's lines are not", "", image(`<svg><path d="M1 2"/></svg>`), "", image(`<svg><path d="M2 2"/></svg>`), nil},
		{"nor styles", "", `<style>a{top:1px}</style>`, "", `<style>a{top:2px}</style>`, nil},
	} {
		found, err := headless.Compare(notebook(c.oldText, c.oldHTML), notebook(c.newText, c.newHTML))
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		var got []string
		for _, d := range found {
			got = append(got, d.String())
		}
		if strings.Join(got, "\n") != strings.Join(c.want, "\n") {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

// A notebook agrees with itself, and any change of one number is found.
func TestCompareFindsEveryChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.IntRange(0, 99999), 1, 20).Draw(t, "values")
		words := func(v []int) string {
			var b strings.Builder
			for _, x := range v {
				fmt.Fprintf(&b, "wear %.3f\n", float64(x)/1000)
			}
			return b.String()
		}
		before := notebook(words(values), "")
		if found, err := headless.Compare(before, before); err != nil || len(found) > 0 {
			t.Fatalf("a notebook differs from itself: %v, %v", found, err)
		}
		at := rapid.IntRange(0, len(values)-1).Draw(t, "at")
		values[at]++
		if found, err := headless.Compare(before, notebook(words(values), "")); err != nil || len(found) != 1 {
			t.Fatalf("one number changed, found %v, %v", found, err)
		}
	})
}

func TestCompareRefusesOtherCode(t *testing.T) {
	other := strings.Replace(string(notebook("1", "")), "show()", "hide()", 1)
	if _, err := headless.Compare(notebook("1", ""), []byte(other)); err == nil {
		t.Error("two notebooks with other code were compared")
	}
}

func TestParseRefuses(t *testing.T) {
	for data, want := range map[string]string{
		"":                "this is not a notebook",
		"hello":           "this is not a notebook",
		"{}":              "format 4 but 0",
		`{"nbformat": 3}`: "format 4 but 3",
		`{"nbformat": 4, "cells": [{"source": 3}]}`: "this is not a notebook",
	} {
		if _, err := headless.Parse([]byte(data)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", data, err, want)
		}
	}
}

func FuzzCompare(f *testing.F) {
	f.Add(notebook("wear 0.31", "<b>1</b>"))
	f.Add([]byte(`{"nbformat": 4, "cells": [{"cell_type": "code", "outputs": [{"data": {"text/plain": ["1", "2"]}}]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		found, err := headless.Compare(data, data)
		if err == nil && len(found) > 0 {
			t.Errorf("a notebook differs from itself: %v", found)
		}
	})
}
