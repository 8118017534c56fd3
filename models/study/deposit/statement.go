package deposit

import (
	"errors"
	"fmt"
	"io/fs"
	"net/mail"
	"os"
	"reflect"
	"strings"
	"time"

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
	Creators    []Creator `toml:"creator"`     // the persons who made the study; its author where none is given
}

// A Creator is a person who made the study.
type Creator struct {
	Name        string `toml:"name" required:"true"` // name of the person
	ORCID       string `toml:"orcid"`                // the person's ORCID, such as 0000-0002-1825-0097, or its web address
	Affiliation string `toml:"affiliation"`          // where the person works
	Email       string `toml:"email"`                // the person's address
}

var statementShape = document.Shape{
	What:     "a statement for a deposit",
	Root:     reflect.TypeFor[Statement](),
	Repeated: map[string]bool{"creator": true},
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
	seen := map[string]bool{}
	for i, c := range s.Creators {
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

// orcidAddress begins the web address of every ORCID.
const orcidAddress = "https://orcid.org/"

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
