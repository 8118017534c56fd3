package deposit

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
)

// Files by which the deposit is cited, and by which repositories and people check it.
const (
	CitationName = "CITATION.cff"   // Citation File Format 1.2.0
	DataCiteName = "datacite.json"  // DataCite Metadata Schema 4.5, in JSON
	SumsName     = "sha256sums.txt" // for sha256sum -c
)

// An object is a JSON object.
type object map[string]any

// put sets a property, unless there is nothing to say.
func (o object) put(name string, value string) {
	if value != "" {
		o[name] = value
	}
}

// dataCite is the deposit in DataCite's words (DataCite Metadata Schema 4.5, 2024, as
// the JSON that its interface takes). Without a DOI a repository gives one; publisher and
// creators, which it demands, are said to be unknown where the scholar says none.
func (b *Bundle) dataCite() object {
	s := b.statement
	year, _ := strconv.Atoi(b.published()[:4]) // a day, as ISO 8601 has it
	out := object{
		"titles": []object{{"title": b.title()}}, "publicationYear": year, "publisher": object{"name": cmp.Or(s.Publisher, "(:unav)")},
		"types":         object{"resourceTypeGeneral": "Dataset", "resourceType": "Densitometer readings of manuscript books"},
		"descriptions":  []object{{"description": b.description(), "descriptionType": "Abstract"}},
		"language":      cmp.Or(s.Language, "en"),
		"dates":         []object{{"date": b.of.first + "/" + b.of.last, "dateType": "Collected"}, {"date": b.published(), "dateType": "Issued"}},
		"schemaVersion": "http://datacite.org/schema/kernel-4",
	}
	out.put("doi", s.DOI)
	out.put("version", s.Version)
	creators := []object{}
	for _, p := range b.people() {
		c := object{"name": p.Name, "nameType": "Personal"}
		if orcid := p.address(); orcid != "" {
			c["nameIdentifiers"] = []object{{"nameIdentifier": orcid, "nameIdentifierScheme": "ORCID", "schemeUri": "https://orcid.org"}}
		}
		if p.Affiliation != "" {
			at := object{"name": p.Affiliation}
			if p.ROR != "" {
				at["affiliationIdentifier"], at["affiliationIdentifierScheme"], at["schemeUri"] = p.ROR, "ROR", "https://ror.org"
			}
			c["affiliation"] = []object{at}
		}
		creators = append(creators, c)
	}
	if len(creators) == 0 {
		creators = append(creators, object{"name": "(:unkn)"})
	}
	out["creators"] = creators
	var subjects, funding, related, rights []object
	for _, word := range s.Keywords {
		subjects = append(subjects, object{"subject": word})
	}
	for _, f := range s.Funding {
		o := object{"funderName": f.Funder}
		if f.ROR != "" {
			o["funderIdentifier"], o["funderIdentifierType"] = f.ROR, "ROR"
		}
		o.put("awardNumber", f.Award)
		o.put("awardTitle", f.Title)
		funding = append(funding, o)
	}
	for _, r := range s.Related {
		kind := "DOI"
		if r.DOI == "" {
			kind = "URL"
		}
		related = append(related, object{"relatedIdentifier": cmp.Or(r.DOI, r.URL), "relatedIdentifierType": kind, "relationType": r.Relation})
	}
	if l := b.licence(); l.Address != "" {
		o := object{"rightsUri": l.Address}
		o.put("rights", l.Name)
		if l.ID != "" {
			o["rightsIdentifier"], o["rightsIdentifierScheme"], o["schemeUri"] = l.ID, "SPDX", "https://spdx.org/licenses/"
		}
		rights = append(rights, o)
	}
	var books []object // a manuscript has no identifier that DataCite lists
	for _, book := range b.of.books {
		o := object{"relatedItemType": "PhysicalObject", "relationType": "IsDerivedFrom", "titles": []object{{"title": titleOf(book)}}}
		o.put("publisher", book.Library)
		if book.Shelfmark != "" {
			o["number"], o["numberType"] = book.Shelfmark, "Other"
		}
		books = append(books, o)
	}
	for name, list := range map[string][]object{"relatedItems": books, "subjects": subjects, "fundingReferences": funding, "relatedIdentifiers": related, "rightsList": rights} {
		if list != nil {
			out[name] = list
		}
	}
	return out
}

// citation is the deposit as a Citation File Format (version 1.2.0) has it. Texts are
// quoted as JSON, which YAML 1.2 reads.
func (b *Bundle) citation() string {
	var out strings.Builder
	line := func(indent, key, value string) {
		if value != "" {
			fmt.Fprintf(&out, "%s%s: %s\n", indent, key, strconv.Quote(value))
		}
	}
	s := b.statement
	line("", "cff-version", "1.2.0")
	line("", "message", "If you use these readings or results, please cite them as below.")
	out.WriteString("type: dataset\n")
	line("", "title", b.title())
	line("", "abstract", b.description())
	line("", "version", s.Version)
	line("", "doi", s.DOI)
	fmt.Fprintf(&out, "date-released: %s\n", b.published())
	if l := b.licence(); l.ID != "" {
		line("", "license", l.ID)
	} else {
		line("", "license-url", l.Address)
	}
	out.WriteString("authors:\n")
	people := b.people()
	if len(people) == 0 {
		out.WriteString("  - name: \"unknown\"\n")
	}
	for _, p := range people {
		line("  - ", "name", p.Name)
		line("    ", "orcid", p.address())
		line("    ", "email", p.Email)
	}
	if len(s.Keywords) > 0 {
		out.WriteString("keywords:\n")
		for _, word := range s.Keywords {
			fmt.Fprintf(&out, "  - %s\n", strconv.Quote(word))
		}
	}
	return out.String()
}

// sums lists the SHA-256 of the files so far as sha256sum writes and reads them.
func (b *Bundle) sums() string {
	var out strings.Builder
	for _, f := range b.files {
		fmt.Fprintf(&out, "%s  %s\n", f.sha256, f.path)
	}
	return out.String()
}
