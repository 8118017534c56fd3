package codex

import (
	"strings"

	"thumbed/models/table"
)

// An Office is one of the hours of the day, in order from Matins (1) to
// Compline (8); NoOffice (0) where a section is none.
type Office uint8

// The offices of the day in their order.
const (
	NoOffice Office = iota
	Matins
	Lauds
	Prime
	Terce
	Sext
	None
	Vespers
	Compline
)

var officeNames = [...]string{"", "Matins", "Lauds", "Prime", "Terce", "Sext", "None", "Vespers", "Compline"}

// writtenOffices are the English, Latin, French, German, Italian, Spanish and
// Dutch names in use beside those printed, in small letters (common practice, no source).
var writtenOffices = map[string]Office{
	"matutinum": Matins, "matutinae": Matins, "matutine": Matins, "ad matutinum": Matins, "ad matutinas": Matins, "ad matutinam": Matins, "mattins": Matins, "vigils": Matins, "vigiliae": Matins,
	"matines": Matins, "matutin": Matins, "mette": Matins, "mattutino": Matins, "maitines": Matins, "metten": Matins, "matutinas": Matins,
	"laudes": Lauds, "ad laudes": Lauds, "in laudibus": Lauds, "lodi": Lauds, "lauden": Lauds,
	"prima": Prime, "ad primam": Prime, "prim": Prime, "priem": Prime,
	"tertia": Terce, "tercia": Terce, "ad tertiam": Terce, "ad terciam": Terce, "tierce": Terce, "terz": Terce, "terza": Terce, "terts": Terce, "tierche": Terce,
	"sexta": Sext, "ad sextam": Sext, "sexte": Sext, "sexten": Sext, "sesta": Sext,
	"nona": None, "ad nonam": None, "nones": None, "non": None, "noon": None, "noen": None,
	"vesperae": Vespers, "vespere": Vespers, "vesperas": Vespers, "ad vesperas": Vespers, "evensong": Vespers, "vêpres": Vespers, "vepres": Vespers, "vesper": Vespers, "vespri": Vespers, "vespro": Vespers, "vísperas": Vespers, "visperas": Vespers, "ad vesperam": Vespers, "ad vesperos": Vespers,
	"completorium": Compline, "ad completorium": Compline, "complin": Compline, "complies": Compline, "komplet": Compline, "compieta": Compline, "completas": Compline, "completen": Compline, "complete": Compline,
}

func init() {
	for o := Matins; o <= Compline; o++ {
		writtenOffices[strings.ToLower(officeNames[o])] = o
	}
}

// Offices are the eight offices in their order.
func Offices() []Office {
	return []Office{Matins, Lauds, Prime, Terce, Sext, None, Vespers, Compline}
}

// String is the English name; empty for NoOffice.
func (o Office) String() string {
	if int(o) >= len(officeNames) {
		return ""
	}
	return officeNames[o]
}

// Order is the office's place in the day, from Matins (1) to Compline (8); 0
// for NoOffice.
func (o Office) Order() int { return int(o) }

// ParseOffice reads the English, Latin, French, German, Italian, Spanish or Dutch
// name of an office, in capitals or small letters: Matins, Matutinum, Ad matutinas,
// Matines. The error is a [*LabelError].
func ParseOffice(text string) (Office, error) {
	if o, ok := writtenOffices[strings.ToLower(strings.Join(strings.Fields(text), " "))]; ok {
		return o, nil
	}
	remedy := "write one of these"
	names := officeNames[1:]
	if near := table.Nearest(text, names); near != "" {
		remedy = "write " + near
	}
	return NoOffice, &LabelError{Value: text, Expected: "an office, one of " + strings.Join(names, ", "), Remedy: remedy}
}
