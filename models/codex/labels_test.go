package codex_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thumbed/models/codex"
)

func TestParseFolio(t *testing.T) {
	for text, want := range map[string]codex.Folio{
		"12":               {Number: 12},
		"[13]":             {Number: 13, Supplied: true},
		"13bis":            {Number: 13, Suffix: "bis"},
		"13ter":            {Number: 13, Suffix: "ter"},
		"13quater":         {Number: 13, Suffix: "quater"},
		"[13bis]":          {Number: 13, Suffix: "bis", Supplied: true},
		"200a":             {Number: 200, Suffix: "a"},
		"12*":              {Number: 12, Suffix: "*"},
		"i":                {Number: 1, Roman: true},
		"iv":               {Number: 4, Roman: true},
		"[ii]":             {Number: 2, Roman: true, Supplied: true},
		"clxxiii":          {Number: 173, Roman: true},
		"iibis":            {Number: 2, Roman: true, Suffix: "bis"},
		"iia":              {Number: 2, Roman: true, Suffix: "a"},
		"99999":            {Number: 99999},
		"mmmcmxcix":        {Number: 3999, Roman: true},
		" 12 ":             {Number: 12},
		"012":              {Number: 12},
		"f. 12":            {Number: 12},
		"fol. 12":          {Number: 12},
		"Fol.12":           {Number: 12},
		"f12":              {Number: 12},
		"folio 12":         {Number: 12},
		"Bl. 12":           {Number: 12},
		"c. 12":            {Number: 12},
		"feuillet 12":      {Number: 12},
		"carta 12":         {Number: 12},
		"Blatt 12":         {Number: 12},
		"f. iv":            {Number: 4, Roman: true},
		"II":               {Number: 2, Roman: true},
		"iiii":             {Number: 4, Roman: true},
		"viiij":            {Number: 9, Roman: true},
		"xiij":             {Number: 13, Roman: true},
		"c":                {Number: 100, Roman: true},
		"[13]bis":          {Number: 13, Suffix: "bis", Supplied: true},
		"[ 13 ]":           {Number: 13, Supplied: true},
		"13 bis":           {Number: 13, Suffix: "bis"},
		"13\u00a0bi" + "s": {Number: 13, Suffix: "bis"},
	} {
		got, err := codex.ParseFolio(text)
		if err != nil || got != want {
			t.Errorf("%q is %+v (%v), not %+v", text, got, err, want)
		}
	}
	for _, text := range []string{
		"", " ", "0", "-1", "12r", "12v", "12 recto", "iir", "[13", "13]", "[[13]]", "[]", "100000", "1234567890123456789012", "iix", "ixx", "iiiii",
		"mmmm", "12bisbis", "12ab", "12r r", "f.", "fol", "folio", "twelve", "12-13", "12,13", "bis", "a", "[a]", "*", "12.", "١٢", "12\x00", "[12]]", "ff", "12 a",
	} {
		if got, err := codex.ParseFolio(text); err == nil {
			t.Errorf("%q is read as %+v", text, got)
		} else {
			wantLabelError(t, err, codex.LabelError{Value: text, Expected: "a folio label", Remedy: "write it such as 12, [13], 13bis, 200a or ii"})
		}
	}
}

func wantLabelError(t *testing.T, err error, want codex.LabelError) {
	t.Helper()
	var label *codex.LabelError
	if !errors.As(err, &label) || *label != want {
		t.Errorf("%v, not %v", err, &want)
	}
}

// Roman numerals from 1 to 20 and the signs of the tens and hundreds, against
// the values that every grammar gives.
func TestRomanFolios(t *testing.T) {
	for i, text := range strings.Fields("i ii iii iv v vi vii viii ix x xi xii xiii xiv xv xvi xvii xviii xix xx") {
		if got := (codex.Folio{Number: i + 1, Roman: true}).String(); got != text {
			t.Errorf("%d is written %s, not %s", i+1, got, text)
		}
	}
	for n, text := range map[int]string{40: "xl", 50: "l", 90: "xc", 100: "c", 400: "cd", 500: "d", 900: "cm", 1000: "m", 1984: "mcmlxxxiv"} {
		if got := (codex.Folio{Number: n, Roman: true}).String(); got != text {
			t.Errorf("%d is written %s, not %s", n, got, text)
		}
	}
}

func page(folio codex.Folio, side codex.Side) codex.PageLabel {
	return codex.PageLabel{Folio: folio, Side: side}
}

func arabic(n int) codex.Folio   { return codex.Folio{Number: n} }
func flyleaf(n int) codex.Folio  { return codex.Folio{Number: n, Roman: true} }
func supplied(n int) codex.Folio { return codex.Folio{Number: n, Supplied: true} }

func TestParsePage(t *testing.T) {
	for text, want := range map[string]codex.PageLabel{
		"12r":         page(arabic(12), codex.Recto),
		"12v":         page(arabic(12), codex.Verso),
		"[13]r":       page(supplied(13), codex.Recto),
		"[13r]":       page(supplied(13), codex.Recto),
		"[13] v":      page(supplied(13), codex.Verso),
		"13bisv":      page(codex.Folio{Number: 13, Suffix: "bis"}, codex.Verso),
		"13terr":      page(codex.Folio{Number: 13, Suffix: "ter"}, codex.Recto),
		"13bis verso": page(codex.Folio{Number: 13, Suffix: "bis"}, codex.Verso),
		"[13]bisr":    page(codex.Folio{Number: 13, Suffix: "bis", Supplied: true}, codex.Recto),
		"200ar":       page(codex.Folio{Number: 200, Suffix: "a"}, codex.Recto),
		"12*v":        page(codex.Folio{Number: 12, Suffix: "*"}, codex.Verso),
		"iir":         page(flyleaf(2), codex.Recto),
		"iiv":         page(flyleaf(2), codex.Verso),
		"iv":          page(flyleaf(1), codex.Verso),
		"ivr":         page(flyleaf(4), codex.Recto),
		"ivv":         page(flyleaf(4), codex.Verso),
		"vv":          page(flyleaf(5), codex.Verso),
		"vr":          page(flyleaf(5), codex.Recto),
		"iv v":        page(flyleaf(4), codex.Verso),
		"iv recto":    page(flyleaf(4), codex.Recto),
		"iibisv":      page(codex.Folio{Number: 2, Roman: true, Suffix: "bis"}, codex.Verso),
		"ivar":        page(codex.Folio{Number: 4, Roman: true, Suffix: "a"}, codex.Recto),
		"[iv]r":       page(codex.Folio{Number: 4, Roman: true, Supplied: true}, codex.Recto),
		"[iv]":        page(codex.Folio{Number: 1, Roman: true, Supplied: true}, codex.Verso),
		"f. 12r":      page(arabic(12), codex.Recto),
		"fol. 12 r":   page(arabic(12), codex.Recto),
		"ff. 12v":     page(arabic(12), codex.Verso),
		"12ʳ":         page(arabic(12), codex.Recto),
		"12ᵛ":         page(arabic(12), codex.Verso),
		"fol. 12ᵛ":    page(arabic(12), codex.Verso),
		"12 recto":    page(arabic(12), codex.Recto),
		"12R":         page(arabic(12), codex.Recto),
		"12V":         page(arabic(12), codex.Verso),
		"IIR":         page(flyleaf(2), codex.Recto),
		"12r°":        page(arabic(12), codex.Recto),
		"12vo":        page(arabic(12), codex.Verso),
		"12ra":        page(arabic(12), codex.Recto),
		"12vb":        page(arabic(12), codex.Verso),
		"200arb":      page(codex.Folio{Number: 200, Suffix: "a"}, codex.Recto),
		"012v":        page(arabic(12), codex.Verso),
		"c. 12v":      page(arabic(12), codex.Verso),
		"cv":          page(flyleaf(100), codex.Verso),
	} {
		got, err := codex.ParsePage(text)
		if err != nil || got != want {
			t.Errorf("%q is %+v (%v), not %+v", text, got, err, want)
		}
	}
	const usual = "write it such as 12r, [13]v, 13bisr or iiv"
	for text, remedy := range map[string]string{
		"":        usual,
		"r":       usual,
		"v":       "write vr or vv",
		"12x":     "write 12xr or 12xv",
		"12":      "write 12r or 12v",
		"[13]":    "write [13]r or [13]v",
		"13bis":   "write 13bisr or 13bisv",
		"ii":      "write iir or iiv",
		"12rv":    "write 12r or 12v",
		"12r-v":   usual,
		"12r, 3":  usual,
		"0r":      usual,
		"12rr":    usual,
		"12rab":   usual,
		"recto":   usual,
		"[12r":    usual,
		"p. 12":   usual,
		"12 left": usual,
	} {
		_, err := codex.ParsePage(text)
		wantLabelError(t, err, codex.LabelError{Value: text, Expected: "a page label, a folio with its side", Remedy: remedy})
	}
}

func TestParseExtent(t *testing.T) {
	span := func(from, to codex.PageLabel) codex.Range { return codex.Range{From: from, To: to} }
	leaf := func(n int, side codex.Side) codex.PageLabel { return page(arabic(n), side) }
	const r, v = codex.Recto, codex.Verso
	for text, want := range map[string][]codex.Range{
		"ff. 13r–25v":            {span(leaf(13, r), leaf(25, v))},
		"fols 1r-4v, 9r":         {span(leaf(1, r), leaf(4, v)), span(leaf(9, r), leaf(9, r))},
		"f. iir":                 {span(page(flyleaf(2), r), page(flyleaf(2), r))},
		"13r–v":                  {span(leaf(13, r), leaf(13, v))},
		"13r-verso":              {span(leaf(13, r), leaf(13, v))},
		"f. 13rv":                {span(leaf(13, r), leaf(13, v))},
		"f. 13":                  {span(leaf(13, r), leaf(13, v))},
		"ff. 13–25":              {span(leaf(13, r), leaf(25, v))},
		"ff. 13r–25":             {span(leaf(13, r), leaf(25, v))},
		"ff. 13–25r":             {span(leaf(13, r), leaf(25, r))},
		"ff. 1ra–12vb":           {span(leaf(1, r), leaf(12, v))},
		"FF. 13R – 25V":          {span(leaf(13, r), leaf(25, v))},
		"ff. 13ʳ—25ᵛ":            {span(leaf(13, r), leaf(25, v))},
		"ff. 1r–4v; ff. 9r–v":    {span(leaf(1, r), leaf(4, v)), span(leaf(9, r), leaf(9, v))},
		"ff. 1r-4v and 9r & 11v": {span(leaf(1, r), leaf(4, v)), span(leaf(9, r), leaf(9, r)), span(leaf(11, v), leaf(11, v))},
		"ff. 13ra–vb":            {span(leaf(13, r), leaf(13, v))},
		"ff. i–iv":               {span(page(flyleaf(1), r), page(flyleaf(4), v))},
		"ff. iv–xv":              {span(page(flyleaf(1), v), page(flyleaf(10), v))},
		"ff. ivr–xvv":            {span(page(flyleaf(4), r), page(flyleaf(15), v))},
		"ff. iir–5v":             {span(page(flyleaf(2), r), leaf(5, v))},
		"ff. [13]r–13bisv":       {span(page(supplied(13), r), page(codex.Folio{Number: 13, Suffix: "bis"}, v))},
		"25v–13r":                {span(leaf(25, v), leaf(13, r))}, // order is for the book to say
		" 13r ":                  {span(leaf(13, r), leaf(13, r))},
		// Examples in the TEI P5 Guidelines, element specifications of locus
		// and locusGrp.
		"fols 12-14, 16r": {span(leaf(12, r), leaf(14, v)), span(leaf(16, r), leaf(16, r))},
		"Bl. 13--26":      {span(leaf(13, r), leaf(26, v))},
		"37--58":          {span(leaf(37, r), leaf(58, v))},
	} {
		got, err := codex.ParseExtent(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if diff := cmp.Diff(want, got.Ranges); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
		if got.String() != text {
			t.Errorf("%q prints back as %q", text, got)
		}
	}
	const usual = "write it such as ff. 13r–25v, or ff. 13r–25v, 30r"
	for text, remedy := range map[string]string{
		"":                     usual,
		"ff.":                  usual,
		"ff. 13r–":             usual,
		"–13r":                 usual,
		"ff. 13r–25v–30r":      usual,
		"13rv–14r":             usual,
		"pp. 3–4":              usual,
		"throughout":           usual,
		"ff. 13r–25v,":         usual,
		"ff. 13r–25v, y":       "the part “y” cannot be read; " + usual,
		"ff. 13r–25v, 30 to 4": "the part “30 to 4” cannot be read; " + usual,
		"ff. 13r–25ww":         usual,
	} {
		_, err := codex.ParseExtent(text)
		wantLabelError(t, err, codex.LabelError{Value: text, Expected: "an extent, one page or more", Remedy: remedy})
	}
}

func TestExtentMadeByProgram(t *testing.T) {
	const r, v = codex.Recto, codex.Verso
	for want, ranges := range map[string][]codex.Range{
		"":                      nil,
		"f. 13r":                {{From: page(arabic(13), r), To: page(arabic(13), r)}},
		"ff. 13r–v":             {{From: page(arabic(13), r), To: page(arabic(13), v)}},
		"ff. 13r–25v, 30r":      {{From: page(arabic(13), r), To: page(arabic(25), v)}, {From: page(arabic(30), r), To: page(arabic(30), r)}},
		"ff. iir–[13]r, 14v–5r": {{From: page(flyleaf(2), r), To: page(supplied(13), r)}, {From: page(arabic(14), v), To: page(arabic(5), r)}},
	} {
		if got := (codex.Extent{Ranges: ranges}).String(); got != want {
			t.Errorf("extent prints %q, not %q", got, want)
		}
	}
}

func TestParseOffice(t *testing.T) {
	for _, test := range []struct {
		office codex.Office
		order  int
		print  string
		write  string // names in five languages as books of hours and catalogues have them (common practice, no source)
	}{
		{codex.Matins, 1, "Matins", "matins|Matins|MATINS|Matutinum|ad matutinas|Ad  matutinum|Matines|Mette|Mattutino"},
		{codex.Lauds, 2, "Lauds", "Lauds|Laudes|ad laudes|in laudibus"},
		{codex.Prime, 3, "Prime", "Prime|Prima|Ad primam"},
		{codex.Terce, 4, "Terce", "Terce|Tertia|Ad tertiam|tercia|tierce"},
		{codex.Sext, 5, "Sext", "Sext|Sexta|Ad sextam"},
		{codex.None, 6, "None", "None|Nona|nones|Ad nonam"},
		{codex.Vespers, 7, "Vespers", "Vespers|Vesperae|Ad vesperas|evensong|Vêpres|Vesper|Vespri"},
		{codex.Compline, 8, "Compline", "Compline|Completorium|Ad completorium|complin"},
	} {
		for _, text := range strings.Split(test.write, "|") {
			if got, err := codex.ParseOffice(text); err != nil || got != test.office {
				t.Errorf("%q is %v (%v), not %v", text, got, err, test.office)
			}
		}
		if test.office.String() != test.print || test.office.Order() != test.order || codex.Offices()[test.order-1] != test.office {
			t.Errorf("%d prints %q and is number %d", test.office, test.office, test.office.Order())
		}
	}
	if codex.NoOffice.String() != "" || codex.NoOffice.Order() != 0 || codex.Office(99).String() != "" {
		t.Error("no office has a name")
	}
	_, err := codex.ParseOffice("Vespres")
	if want := `found "Vespres"; expected an office, one of Matins, Lauds, Prime, Terce, Sext, None, Vespers, Compline; write Vespers`; err == nil || err.Error() != want {
		t.Error(err)
	}
	_, err = codex.ParseOffice("Gloria")
	if want := `found "Gloria"; expected an office, one of Matins, Lauds, Prime, Terce, Sext, None, Vespers, Compline; write one of these`; err == nil || err.Error() != want {
		t.Error(err)
	}
}

// folio draws any label that a leaf may have.
var folio = rapid.Custom(func(t *rapid.T) codex.Folio {
	f := codex.Folio{Roman: rapid.Bool().Draw(t, "roman"), Supplied: rapid.Bool().Draw(t, "supplied")}
	f.Number = rapid.IntRange(1, 99999).Draw(t, "number")
	suffixes := []string{"", "bis", "ter", "quater", "*", "a", "b", "c", "d", "i", "o", "q", "t", "x", "z"}
	if f.Roman {
		f.Number = rapid.IntRange(1, 3999).Draw(t, "roman number")
		suffixes = []string{"", "bis", "ter", "quater", "*", "a", "b", "e", "o", "q", "t", "z"}
	}
	f.Suffix = rapid.SampledFrom(suffixes).Draw(t, "suffix")
	return f
})

var pageLabel = rapid.Custom(func(t *rapid.T) codex.PageLabel {
	return codex.PageLabel{Folio: folio.Draw(t, "folio"), Side: codex.Side(rapid.IntRange(0, 1).Draw(t, "side"))}
})

// A label that is printed and read is the same label.
func TestLabelsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := folio.Draw(t, "folio")
		if got, err := codex.ParseFolio(f.String()); err != nil || got != f {
			t.Fatalf("%s reads back as %+v (%v)", f, got, err)
		}
		p := pageLabel.Draw(t, "page")
		if got, err := codex.ParsePage(p.String()); err != nil || got != p {
			t.Fatalf("%s reads back as %+v (%v)", p, got, err)
		}
	})
}

// An extent made by program, printed and read, has the same ranges; and one
// that was read prints back byte for byte.
func TestExtentsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		made := codex.Extent{Ranges: rapid.SliceOfN(rapid.Custom(func(t *rapid.T) codex.Range {
			r := codex.Range{From: pageLabel.Draw(t, "from"), To: pageLabel.Draw(t, "to")}
			if rapid.Bool().Draw(t, "one leaf") {
				r.To.Folio = r.From.Folio
			}
			return r
		}), 1, 4).Draw(t, "ranges")}
		read, err := codex.ParseExtent(made.String())
		if err != nil {
			t.Fatalf("%s: %v", made, err)
		}
		if diff := cmp.Diff(made.Ranges, read.Ranges); diff != "" {
			t.Fatalf("%s: %s", made, diff)
		}
		if read.String() != made.String() {
			t.Fatalf("%q prints back as %q", made, read)
		}
	})
}
