package chapter

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"thumbed/models/report/grid"

	"pgregory.net/rapid"
)

func number(text string) grid.Cell {
	return grid.Cell{Parts: []grid.Part{{Text: text, Value: 1}}, Number: true}
}

func interval(low, high string) grid.Cell {
	return grid.Cell{Parts: []grid.Part{{Text: low, Value: 1}, words(" to "), {Text: high, Value: 2}}, Number: true}
}

func words(text string) grid.Part { return grid.Part{Text: text, Value: math.NaN()} }

func said(text string) grid.Cell { return grid.Cell{Parts: []grid.Part{words(text)}} }

func TestNumbersStandBelowEachOther(t *testing.T) {
	columns := map[string][]struct {
		cell grid.Cell
		want string
	}{
		"decimals": {
			{number("0.111"), `0.111\phantom{0}`},
			{number("−0.0314"), `\ensuremath{-}0.0314`},
			{number("10\u202f000"), `10\,000\phantom{.0000}`},
			{number("<\u00a00.0001"), `\textless{}~0.0001`},
			{number("5 of 6"), `5 of 6`},
			{grid.Cell{Parts: []grid.Part{words("not known")}, Number: true}, `not known`},
		},
		"intervals": {
			{interval("−0.04", "−0.02"), `\ensuremath{-}0.04 to \phantom{0}\ensuremath{-}0.02`},
			{interval("0.1", "12.03"), `0.1\phantom{0} to \phantom{\ensuremath{-}}12.03`},
			{interval("0.1", "0.3"), `0.1\phantom{0} to \phantom{\ensuremath{-}0}0.3\phantom{0}`},
		},
	}
	for name, rows := range columns {
		t.Run(name, func(t *testing.T) {
			table := grid.Grid{Heads: []grid.Head{{Text: "x", Number: true}}, Panels: []grid.Panel{{}}}
			for _, row := range rows {
				table.Panels[0].Rows = append(table.Panels[0].Rows, []grid.Cell{row.cell})
			}
			plumbs := plumbsOf(table)
			for _, row := range rows {
				if got := newSetter().cell(row.cell, column{number: true}, plumbs[0]); got != row.want {
					t.Errorf("%q is set as %q; want %q", row.cell.Text(), got, row.want)
				}
			}
		})
	}
}

// TestTablesKeepToTheLine: whatever the words are, the widths of broken columns
// and what others take by themselves do not go beyond the line.
func TestTablesKeepToTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := grid.Grid{Name: "t", Title: "T", Heads: []grid.Head{{Text: "Name"}, {Text: "What it is"}, {Text: "Standard deviation", Number: true}, {Text: "95 % interval", Number: true}}}
		p := grid.Panel{Heading: rapid.StringN(0, 200, -1).Draw(t, "heading")}
		for range rapid.IntRange(0, 8).Draw(t, "rows") {
			p.Rows = append(p.Rows, []grid.Cell{said(rapid.StringN(0, 60, -1).Draw(t, "name")), said(rapid.StringN(0, 300, -1).Draw(t, "what")),
				number(rapid.SampledFrom([]string{"0.1", "12", "−3.25", "not known"}).Draw(t, "sd")), interval("0.1", "0.25")})
		}
		table.Panels = []grid.Panel{p}
		columns := columnsOf(table, plumbsOf(table))
		if w := tableWidth(columns); w > lineWidth+1e-9 {
			t.Fatalf("the table is %.1f em wide, the line %.1f", w, lineWidth)
		}
		if at := unpaired(string(newSetter().tableFile(table))); at != "" {
			t.Fatalf("braces do not pair: %s", at)
		}
	})
}

// unpaired is where the braces of a LaTeX file do not pair, comments left out.
func unpaired(file string) string {
	depth := 0
	for line := range strings.Lines(file) {
		if strings.HasPrefix(line, "%") {
			continue
		}
		bare := regexp.MustCompile(`\\[{}\\]`).ReplaceAllString(line, "")
		depth += strings.Count(bare, "{") - strings.Count(bare, "}")
		if depth < 0 {
			return line
		}
	}
	if depth != 0 {
		return "the end"
	}
	return ""
}

func TestLongTablesRunOn(t *testing.T) {
	table := grid.Grid{Name: "t", Title: "Rows", Heads: []grid.Head{{Text: "Name"}, {Text: "Value", Number: true}}, Panels: []grid.Panel{{}}}
	for k := range longTable + 1 {
		if got := strings.Contains(string(newSetter().tableFile(table)), "longtable"); got {
			t.Fatalf("a table of %d rows runs on", k)
		}
		table.Panels[0].Rows = append(table.Panels[0].Rows, []grid.Cell{said("a"), number("1")})
	}
	if !strings.Contains(string(newSetter().tableFile(table)), `\endfirsthead`) {
		t.Error("a long table does not run on")
	}
}

func TestARemarkTakesTheRow(t *testing.T) {
	dash := grid.Cell{Parts: []grid.Part{words("–")}, Number: true}
	table := grid.Grid{Name: "t", Title: "T", Heads: []grid.Head{{Text: "Choice"}, {Text: "n", Number: true}, {Text: "Estimate", Number: true}, {Text: "Unit"}},
		Panels: []grid.Panel{{Rows: [][]grid.Cell{{said("as stated"), number("10"), number("0.5"), said("density")}, {said("without a day"), dash, dash, said(strings.Repeat("why it failed ", 20))}}}}}
	set := string(newSetter().tableFile(table))
	if !strings.Contains(set, `without a day & \multicolumn{3}{>{\raggedright\arraybackslash}p{`) || !strings.Contains(set, `{@{}lrrl@{}}`) {
		t.Errorf("a row that only says why is set as\n%s", set)
	}
}

func TestHeadsAreBroken(t *testing.T) {
	for _, c := range []struct {
		head         string
		width, slack float64
		want         string
	}{
		{"Degrees of freedom", 4, 2, "Degrees of|freedom"}, {"Degrees of freedom", 4, 0, "Degrees|of|freedom"}, {"p, adjusted", 2, 5, "p,|adjusted"},
		{"Degrees of freedom", 20, 0, "Degrees of freedom"}, {"", 3, 1, ""},
	} {
		if got := strings.Join(headOf(c.head, c.width, c.slack), "|"); got != c.want {
			t.Errorf("%q over %.0f em is %q; want %q", c.head, c.width, got, c.want)
		}
	}
}
