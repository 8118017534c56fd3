package codex

// A Side is one side of a leaf.
type Side uint8

// The sides of a leaf: recto is the front, verso the back.
const (
	Recto Side = iota
	Verso
)

// String is "recto" or "verso".
func (s Side) String() string {
	if s == Verso {
		return "verso"
	}
	return "recto"
}

// letter is r or v, as page labels end.
func (s Side) letter() string { return s.String()[:1] }

// A PageLabel names one side of a leaf: 12r, [13]v, iir.
type PageLabel struct {
	Folio Folio
	Side  Side
}

// String is the label as catalogues print it: 12r, [13]v, 13bisv, iir. It is
// empty where the leaf has no label.
func (p PageLabel) String() string {
	if p.Folio.IsZero() {
		return ""
	}
	return p.Folio.String() + p.Side.letter()
}

const (
	pageExpected = "a page label, a folio with its side"
	pageRemedy   = "write it such as 12r, [13]v, 13bisr or iiv"
)

// ParsePage reads the label of a page. Beside the forms that
// [PageLabel.String] prints it takes what is commonly written: f. 12r,
// fol. 12 r, 12ʳ, 12 recto, [12r], and a column of the page, as in 12ra, which
// is passed over. A roman label that could lack its side has it: iv is the
// verso of i, ivr the recto of iv. The error is a [*LabelError].
func ParsePage(text string) (PageLabel, error) {
	s := scanner{rest: normal(text)}
	s.prefix()
	folio, side, ok := s.label(true)
	if ok && s.rest == "" && side != noSide && side != bothSides {
		return PageLabel{Folio: folio, Side: side.page()}, nil
	}
	err := &LabelError{Value: text, Expected: pageExpected, Remedy: pageRemedy}
	if ok && s.rest == "" {
		err.Remedy = "write " + PageLabel{folio, Recto}.String() + " or " + PageLabel{folio, Verso}.String()
	}
	return PageLabel{}, err
}
