package deposit_test

import (
	"encoding/json"
	"os/exec"
	"strings"
	"testing"

	"thumbed/models/study/deposit"
)

// TestSumsAreThoseOfCoreutils: the list of sums is one that sha256sum of the GNU core
// utilities reads, and every file is as it says.
func TestSumsAreThoseOfCoreutils(t *testing.T) {
	program, err := exec.LookPath("sha256sum")
	if err != nil {
		t.Skip("sha256sum is not on this machine")
	}
	dir := bundled(t)
	check := exec.Command(program, "--check", "--strict", "--quiet", deposit.SumsName)
	check.Dir = dir
	if said, err := check.CombinedOutput(); err != nil {
		t.Errorf("%v: %s", err, said)
	}
	if n := strings.Count(read(t, dir, deposit.SumsName), "\n"); n != len(filesUnder(t, dir))-1 { // but its own
		t.Errorf("%d sums of %d files", n, len(filesUnder(t, dir)))
	}
}

// TestWhatARepositoryAsks: the properties that DataCite makes mandatory (Metadata Schema
// 4.5, section 2: identifier, creator, title, publisher, publication year, resource
// type), and those that Citation File Format 1.2.0 requires, are there, with what the
// statement says.
func TestWhatARepositoryAsks(t *testing.T) {
	dir := bundled(t)
	var cited struct {
		DOI       string
		Creators  []struct{ Name string }
		Titles    []struct{ Title string }
		Publisher struct{ Name string }
		Year      int `json:"publicationYear"`
		Types     struct {
			General string `json:"resourceTypeGeneral"`
		}
		Funding []struct {
			Name string `json:"funderName"`
		} `json:"fundingReferences"`
		Related []struct {
			ID   string `json:"relatedIdentifier"`
			Type string `json:"relationType"`
		} `json:"relatedIdentifiers"`
		Items []struct {
			Kind      string `json:"relatedItemType"`
			Titles    []struct{ Title string }
			Publisher string
			Number    string
		} `json:"relatedItems"`
	}
	must(t, json.Unmarshal([]byte(read(t, dir, deposit.DataCiteName)), &cited))
	if cited.DOI != "10.1234/veldermond" || len(cited.Creators) != 2 || cited.Creators[0].Name != "Josiah Carberry" || len(cited.Titles) != 1 || cited.Publisher.Name != "Repository of Veldermond" ||
		cited.Year != 2026 || cited.Types.General != "Dataset" || len(cited.Funding) != 1 || len(cited.Related) != 1 || cited.Related[0].Type != "IsSupplementTo" {
		t.Errorf("%+v", cited)
	}
	if b := cited.Items; len(b) != 2 || b[0].Kind != "PhysicalObject" || b[0].Titles[0].Title != "Ant's hours" || b[0].Publisher != "Town Library, Veldermond" || b[0].Number != "MS 12" || b[1].Number != "" {
		t.Errorf("the books are %+v", b)
	}
	if pack := read(t, dir, deposit.PackageName); !strings.Contains(pack, "Ant's hours (Town Library, Veldermond, MS 12)") {
		t.Error("the data package does not say where a book is kept")
	}
	citation := read(t, dir, deposit.CitationName)
	for _, want := range []string{"cff-version: \"1.2.0\"\n", "message: ", "title: ", "authors:\n  - name: \"Josiah Carberry\"\n    orcid: \"https://orcid.org/0000-0002-1825-0097\"", "date-released: 2026-06-30\n", "license: \"CC-BY-4.0\""} {
		if !strings.Contains(citation, want) {
			t.Errorf("without %q:\n%s", want, citation)
		}
	}
	described := read(t, dir, deposit.PackageName)
	if !strings.Contains(described, `"foreignKeys"`) || !strings.Contains(described, `"resource": "books.csv"`) {
		t.Error("no table says that its books stand in the table of books")
	}
	if crate := read(t, dir, deposit.CrateName); !strings.Contains(crate, `"identifier": "sha256:`) || !strings.Contains(crate, "Sarreland Fund") {
		t.Error("the crate has no sums, or no funder")
	}
}

// TestAStatementThatCannotBe: what is wrong in it is told with its key.
func TestAStatementThatCannotBe(t *testing.T) {
	dir := studied(t)
	write(t, "doi = \"https://doi.org/10.1234/x\"\nlanguage = \"english language\"\n[[related]]\nurl = \"https://example.org\"\nrelation = \"likes\"\n[[funding]]\nror = \"ror.org/1\"\n", dir, deposit.StatementName)
	_, err := deposit.Pack(dir, "", "")
	if err == nil {
		t.Fatal("taken")
	}
	for _, want := range []string{"column doi", "column language", "column relation", "column funder", "column ror"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("without %q: %v", want, err)
		}
	}
}
