package intake_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study/intake"
)

// A mapping proposed from a scholar's own sheet in five languages makes of it the
// table that it is, once what is alike in all rows is filled in.
func TestProposedMapping(t *testing.T) {
	const want = "page,date,time,target,spot,density,%s,book,instrument\n" +
		",2026-03-23,09:00,tile,,0.16,,,bench\n12r,2026-03-23,09:01,zero,,0.05,,alder,bench\n12r,2026-03-23,09:02,page,fixed,0.31,still,alder,bench\n"
	for _, test := range []struct{ language, text, note string }{
		{"English", "Folio;Date;Time;Target;Place;Density (D);Remarks\n;23/03/2026;09:00;tile;;0,16;\n12r;23/03/2026;09:01;blank;;0,05;\n12r;23/03/2026;09:02;corner;fixed;0,31;still\n", "note"},
		{"German", "Seite;Datum;Uhrzeit;Messziel;Stelle;Schwärzung;Bemerkung\n;23.3.2026;9.00 Uhr;Kachel;;0,16;\n12r;23.3.2026;09:01;Null;;0,05;\n12r;23.3.2026;09:02;Ecke;fest;0,31;still\n", "note"},
		{"French", "Feuillet;Date;Heure;Cible;Endroit;Densité;Remarques\n;23/3/2026;9h00;référence;;0,16;\n12r;23/3/2026;9h01;blanc;;0,05;\n12r;23/3/2026;9h02;coin;fixe;0,31;still\n", "note"},
		{"Dutch", "Bladzijde;Datum;Tijd;Doel;Plek;Dichtheid;Opmerking\n;23-3-2026;09:00;tegel;;0,16;\n12r;23-3-2026;09:01;nul;;0,05;\n12r;23-3-2026;09:02;hoek;vast;0,31;still\n", "note"},
		{"Italian", "Carta;Data;Ora;Oggetto;Punto;Densità;Osservazioni\n;23/3/2026;09:00;piastrella;;0,16;\n12r;23/3/2026;09:01;bianco;;0,05;\n12r;23/3/2026;09:02;angolo;fisso;0,31;still\n", "note"},
	} {
		t.Run(test.language, func(t *testing.T) {
			dir := t.TempDir()
			file, words := filepath.Join(dir, "log.csv"), filepath.Join(dir, "words.toml")
			text := strings.Replace(test.text, "9.00 Uhr", "9 Uhr", 1)
			if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			mapping, err := intake.Propose(file)
			if err != nil {
				t.Fatal(err)
			}
			filled := strings.NewReplacer(`# book = "…"`, `book = "alder"`, `# instrument = "…"`, `instrument = "bench"`).Replace(mapping)
			if filled == mapping || strings.Contains(mapping, "not known") {
				t.Errorf("\n%s", mapping)
			}
			if err := os.WriteFile(words, []byte(filled), 0o600); err != nil {
				t.Fatal(err)
			}
			made, err := intake.Told{}.Sheet(file, words)
			if err != nil {
				t.Fatalf("%v\n%s", err, filled)
			}
			var b bytes.Buffer
			if err := made.Tables[0].Table.Write(&b); err != nil {
				t.Fatal(err)
			}
			if got := strings.Replace(want, "%s", test.note, 1); b.String() != got {
				t.Errorf("\n%s\n%s", b.String(), mapping)
			}
		})
	}
}

// What a proposal cannot tell is asked in a comment, and the proposal is a mapping as
// it stands.
func TestProposalAsks(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "log.csv")
	if err := os.WriteFile(file, []byte("Page,Date,Wetter,Density\n1r,3/4/2026,\"rain, \"\"cold\"\"\",0.2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	mapping, err := intake.Propose(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, words := range []string{`# dates = "day-month-year"   # or "month-day-year": no day tells which`, `# "Wetter" = "…"   # not known, such as "rain, \"cold\""`, `"Page" = "page"`, `# target = "…"`} {
		if !strings.Contains(mapping, words) {
			t.Errorf("without %s:\n%s", words, mapping)
		}
	}
	words := filepath.Join(dir, "words.toml")
	if err := os.WriteFile(words, []byte(mapping), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := (intake.Told{}).Sheet(file, words); err == nil || strings.Contains(err.Error(), "words.toml, line") {
		t.Errorf("%v", err)
	}
}
