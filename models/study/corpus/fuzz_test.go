package corpus

import (
	"encoding/json"
	"testing"

	"thumbed/models/table"
)

// FuzzCorpusFile wants that no text makes the reader fall over, and that each
// problem can be shown.
func FuzzCorpusFile(f *testing.F) {
	f.Add([]byte("title = \"T\"\nfolders = [\"books/*\"]\n[readers]\nset = \"x\"\noffices = [\"Matins\"]\n[[model]]\nname = \"a\"\noutcome = \"wear\"\nfixed = []\n"))
	f.Add([]byte("folders = [\"../../*\", \"/etc\", \"[\"]\ninstruments = \"~\"\n[tables]\nreadings = []\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		var ps table.Problems
		parse("corpus.toml", text, &ps)
		for _, p := range ps.List() {
			if p.Line < 0 || p.Expected == "" {
				t.Errorf("a problem without its parts: %#v", p)
			}
		}
	})
}

// FuzzPiece wants that the piece of a folder in the file of a part reads or is
// refused, and reads the same again.
func FuzzPiece(f *testing.F) {
	whole, err := json.Marshal(Piece{Folder: "a", Books: []bookPiece{{Rows: 2, Columns: []column{{Name: "wear", Numbers: []float64{1, 2}}}}}})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(whole)
	f.Add([]byte(`"AAAA"`))
	f.Add([]byte(`null`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var p Piece
		if json.Unmarshal(text, &p) != nil {
			return
		}
		again, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(again, &p); err != nil {
			t.Error(err)
		}
	})
}
