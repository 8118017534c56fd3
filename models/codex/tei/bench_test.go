package tei_test

import (
	"fmt"
	"strings"
	"testing"

	"thumbed/models/codex/catalogue"
	"thumbed/models/codex/tei"
	"thumbed/models/table"
)

// A record of five megabytes, of 6000 texts and 4000 miniatures.
func BenchmarkLargeRecord(b *testing.B) {
	var contents, list strings.Builder
	for n := range 6000 {
		fmt.Fprintf(&contents, `<msItem><locus from="%[1]dr" to="%[1]dv">fols. %[1]dr-%[1]dv</locus><title>Prayer %[2]d to St Osyth</title><incipit>%[3]s</incipit><note>%[3]s</note></msItem>`, 1+n%400, n, strings.Repeat("Deus qui ", 30))
	}
	for n := range 4000 {
		fmt.Fprintf(&list, "<item><locus>(fol. %dr)</locus> Picture %d of a saint with a book.</item>", 1+n%400, n)
	}
	data := record("<msContents>"+contents.String()+"</msContents>", `<physDesc><objectDesc><supportDesc><extent>400 leaves</extent><collation>1-50:8</collation></supportDesc></objectDesc><decoDesc><decoNote type="miniature"><p>Miniatures: <list>`+list.String()+"</list></p></decoNote></decoDesc></physDesc>")
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		var ps table.Problems
		account := &catalogue.Account{}
		if made := catalogue.Build(tei.Read("record.xml", data, account, &ps), account); made.Books.Rows() != 1 {
			b.Fatal(ps.Err())
		}
	}
}
