package report

// A caution is one thing to mind, in a few words and then in full.
type caution struct{ Head, Body string }

// cautions stand on every page: for whoever measures after reading it, and for
// whoever reads meaning into it. They are common practice in reading rooms and
// conservation (no single source); the library's own rules come before them.
var cautions = []caution{
	{"The library decides.", "Measure only with leave of the library and as its conservators and its reading-room rules say. Where they say no, or stop you, that is the answer."},
	{"No contact with loose paint.", "Never set an instrument on flaking, powdery or raised paint, on gold, or on a page that cockles under it. Leave the page out and write down why."},
	{"Light is a dose.", "Every reading adds light. Take no more placings than the question needs, cover the page in between, and keep lamps and camera lights off."},
	{"Hands.", "Clean and dry, or gloved: as the library asks. Support the binding, never force an opening flat, and turn leaves by an edge that is not the one measured."},
	{"Poisons.", "Some pigments and bindings are toxic: orpiment, realgar and emerald green hold arsenic, white and red lead hold lead, vermilion holds mercury; so do some old pest treatments. Ask the conservator first, do not touch your face, wash your hands."},
	{"Mould.", "A musty smell, bloom or stains that come off may be mould. Close the book, do not brush or blow, and tell the staff."},
	{"Wear is evidence of handling, not of belief.", "It cannot say who turned the page, when, or what they made of it. Later owners, readers and collectors, cleaning, trimming and rebinding, damp and repairs add to it or take it away, and may do so unevenly along the book."},
}

// A Caution is one thing to mind, for faces outside this room.
type Caution = caution

// Cautions are those of every page.
func Cautions() []Caution { return cautions }

// traceCautions stand besides where traces were looked for.
var traceCautions = []caution{
	{"Look, do not touch.", "Never touch a surface to learn what is on it: paint that looks rubbed may be loose. Raking light, magnification and ultraviolet only as the library’s conservators allow, low and brief."},
	{"Others rub too.", "Earlier owners, restorers, iconoclasts, worn bindings and damp take paint away as devotion does. A graded surface tells how much is gone, not who took it, when, or why."},
}

// cautions are those of this study's page.
func (r *Results) cautions() []caution {
	if r.Traces == nil {
		return cautions
	}
	return append(append([]caution{}, cautions...), traceCautions...)
}

// TraceCautions are those on a sheet to code traces by.
func TraceCautions() []Caution { return append(append([]caution{}, traceCautions...), cautions...) }
