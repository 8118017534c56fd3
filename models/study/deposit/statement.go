package deposit

import (
	"errors"
	"fmt"
	"io/fs"
	"net/mail"
	"net/url"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"time"

	"golang.org/x/text/language"

	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/table/document"
)

// StatementName is the file beside study.toml that says what a repository wants to
// know and no run needs. It may be left out, and is no part of a run's inputs, so
// that a licence can be chosen when the results are there.
const StatementName = "deposit.toml"

// A Statement is what deposit.toml says. All of it may be left out.
type Statement struct {
	Licence     string    `toml:"licence"`     // short identifier of a licence (SPDX), or the web address of one
	Description string    `toml:"description"` // what the readings are and why they were taken
	Keywords    []string  `toml:"keywords"`    // words by which the deposit is to be found
	Date        string    `toml:"date"`        // day of publication, ISO 8601; the day of the last reading where not given
	Language    string    `toml:"language"`    // language of the texts of the deposit, such as en (BCP 47); en where not given
	Version     string    `toml:"version"`     // version of the deposit, such as 1.0
	Publisher   string    `toml:"publisher"`   // repository that publishes it
	DOI         string    `toml:"doi"`         // its DOI, where it has one already, such as 10.1234/abcd
	Creators    []Creator `toml:"creator"`     // the persons who made the study; its author where none is given
	Funding     []Funding `toml:"funding"`     // who paid for it
	Related     []Related `toml:"related"`     // what it belongs to, follows or is described in
}

// A Funding is a grant or a funder.
type Funding struct {
	Funder string `toml:"funder" required:"true"` // name of the funder
	ROR    string `toml:"ror"`                    // web address of the funder in the Research Organization Registry
	Award  string `toml:"award"`                  // number of the grant
	Title  string `toml:"title"`                  // title of the grant
}

// A Related is another work.
type Related struct {
	DOI      string `toml:"doi"`                                                                                                                       // its DOI …
	URL      string `toml:"url"`                                                                                                                       // … or its web address
	Relation string `toml:"relation" required:"true" words:"IsSupplementTo / IsDocumentedBy / IsNewVersionOf / IsPartOf / References / IsDerivedFrom"` // what this deposit is to it, in the words of DataCite
}

// relations are what a deposit can be to another work (DataCite Metadata Schema 4.5,
// appendix 1, relationType), of those that fit one.
var relations = []string{"IsSupplementTo", "IsDocumentedBy", "IsNewVersionOf", "IsPartOf", "References", "IsDerivedFrom"}

// A Creator is a person who made the study.
type Creator struct {
	Name        string `toml:"name" required:"true"` // name of the person
	ORCID       string `toml:"orcid"`                // the person's ORCID, such as 0000-0002-1825-0097, or its web address
	Affiliation string `toml:"affiliation"`          // where the person works
	ROR         string `toml:"ror"`                  // web address of that in the Research Organization Registry
	Role        string `toml:"role"`                 // what the person did, in words; author where not given
	Email       string `toml:"email"`                // the person's address
}

var statementShape = document.Shape{
	What:     "a statement for a deposit",
	Root:     reflect.TypeFor[Statement](),
	Repeated: map[string]bool{"creator": true, "funding": true, "related": true},
}

// readStatement reads deposit.toml; its zero value where there is none.
func readStatement(path string) (*Statement, error) {
	out := &Statement{}
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return out, nil
	}
	var ps table.Problems
	text, problem := study.ReadText(path, statementShape.What, StatementName)
	if problem != nil {
		ps.Add(*problem)
		return nil, ps.Err()
	}
	if doc := statementShape.Split(path, text, &ps); doc != nil {
		doc.Decode(path, out, &ps)
		out.check(path, doc.Where, &ps)
	}
	return out, ps.Err()
}

func (s *Statement) check(path string, where document.Where, ps *table.Problems) {
	problem := func(value, expected, remedy string, at ...any) {
		ps.Add(table.Problem{File: path, Line: where.Line(at...), Column: fmt.Sprint(at[len(at)-1]), Value: value, Expected: expected, Remedy: remedy})
	}
	if s.Licence != "" {
		if _, remedy := parseLicence(s.Licence); remedy != "" {
			problem(s.Licence, "one of "+strings.Join(licenceIDs(), ", ")+", or a web address", remedy, "licence")
		}
	}
	if _, err := time.Parse(time.DateOnly, s.Date); s.Date != "" && err != nil {
		problem(s.Date, "a date such as 2026-03-09", "write year-month-day (ISO 8601)", "date")
	}
	if s.DOI != "" && !reDOI.MatchString(s.DOI) {
		problem(s.DOI, "a DOI such as 10.1234/abcd", "write it without the web address before it", "doi")
	}
	if _, err := language.Parse(s.Language); s.Language != "" && err != nil {
		problem(s.Language, "a language such as en or de-AT (BCP 47)", "write the tag of the language", "language")
	}
	ror := func(at string, key ...any) {
		if at != "" && !reROR.MatchString(at) {
			problem(at, "an address such as https://ror.org/03yrm5c26", "copy it from the registry, or leave it out", key...)
		}
	}
	for i, f := range s.Funding {
		if strings.TrimSpace(f.Funder) == "" {
			problem("", "the name of each funder", `write funder = "…" under [[funding]]`, "funding", i, "funder")
		}
		ror(f.ROR, "funding", i, "ror")
	}
	for i, r := range s.Related {
		if !slices.Contains(relations, r.Relation) {
			problem(r.Relation, "one of "+strings.Join(relations, ", "), "write what this deposit is to the other work", "related", i, "relation")
		}
		if at, err := url.Parse(r.URL); (r.DOI == "") == (r.URL == "") || r.DOI != "" && !reDOI.MatchString(r.DOI) || r.URL != "" && (err != nil || at.Host == "") {
			problem(r.DOI+r.URL, "a DOI such as 10.1234/abcd, or a web address", `write doi = "…" or url = "…"`, "related", i)
		}
	}
	seen := map[string]bool{}
	for i, c := range s.Creators {
		ror(c.ROR, "creator", i, "ror")
		if strings.TrimSpace(c.Name) == "" {
			problem("", "the name of each creator", `write name = "…" under [[creator]]`, "creator", i, "name")
		}
		orcid, err := parseORCID(c.ORCID)
		switch {
		case c.ORCID == "":
		case err != nil:
			problem(c.ORCID, "an ORCID such as 0000-0002-1825-0097", err.Error(), "creator", i, "orcid")
		case seen[orcid]:
			problem(c.ORCID, "each person once", "delete one of the two", "creator", i, "orcid")
		}
		seen[orcid] = true
		if at, err := mail.ParseAddress(c.Email); c.Email != "" && (err != nil || at.Address != c.Email) {
			problem(c.Email, "an address such as a.n.example@example.org", "write the address alone, or leave it out", "creator", i, "email")
		}
	}
}

var (
	reDOI = regexp.MustCompile(`^10\.\d{4,9}/\S+$`)
	reROR = regexp.MustCompile(`^https://ror\.org/0[a-z0-9]{6}\d{2}$`)
)

// orcidAddress begins the web address of every ORCID.
const orcidAddress = "https://orcid.org/"

// address is the web address of the person's ORCID; empty where none is given.
func (c Creator) address() string {
	address, _ := parseORCID(c.ORCID) // checked when it was read
	return address
}

// parseORCID gives the web address of an ORCID, a person's number of sixteen
// digits in fours of which the last is a check character (ISO/IEC 7064, MOD 11-2;
// see https://support.orcid.org, Structure of the ORCID Identifier).
func parseORCID(text string) (string, error) {
	number := strings.TrimPrefix(strings.TrimPrefix(text, orcidAddress), "http://orcid.org/")
	if len(number) != len("0000-0002-1825-0097") {
		return "", errors.New("write its sixteen digits, in fours with hyphens between")
	}
	total := 0
	for i := range len(number) {
		c := number[i]
		switch {
		case i%5 == 4 && c == '-':
		case i == len(number)-1:
			if check := (12 - total%11) % 11; c != "0123456789X"[check] {
				return "", errors.New("its last character does not fit the others: copy it again")
			}
		case i%5 != 4 && c >= '0' && c <= '9':
			total = (total + int(c-'0')) * 2
		default:
			return "", errors.New("write its sixteen digits, in fours with hyphens between")
		}
	}
	return orcidAddress + number, nil
}
