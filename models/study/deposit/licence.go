package deposit

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"thumbed/models/table"
)

// A Licence is the terms under which a bundle may be used.
type Licence struct {
	ID      string // short identifier of the SPDX licence list; empty for others
	Name    string
	Address string // web address of its text
}

// licences are those of the SPDX licence list (https://spdx.org/licenses) that fit
// data and are asked for by repositories; any other may be given by its address.
var licences = []Licence{
	{"CC0-1.0", "Creative Commons Zero v1.0 Universal", "https://creativecommons.org/publicdomain/zero/1.0/"},
	{"CC-BY-4.0", "Creative Commons Attribution 4.0 International", "https://creativecommons.org/licenses/by/4.0/"},
	{"CC-BY-SA-4.0", "Creative Commons Attribution Share Alike 4.0 International", "https://creativecommons.org/licenses/by-sa/4.0/"},
	{"CC-BY-NC-4.0", "Creative Commons Attribution Non Commercial 4.0 International", "https://creativecommons.org/licenses/by-nc/4.0/"},
	{"CC-BY-NC-SA-4.0", "Creative Commons Attribution Non Commercial Share Alike 4.0 International", "https://creativecommons.org/licenses/by-nc-sa/4.0/"},
	{"ODC-By-1.0", "Open Data Commons Attribution License v1.0", "https://opendatacommons.org/licenses/by/1-0/"},
	{"ODbL-1.0", "Open Data Commons Open Database License v1.0", "https://opendatacommons.org/licenses/odbl/1-0/"},
	{"PDDL-1.0", "Open Data Commons Public Domain Dedication & License 1.0", "https://opendatacommons.org/licenses/pddl/1-0/"},
}

// parseLicence reads a licence's short identifier or web address. The remedy is
// empty where it can be read.
func parseLicence(text string) (l Licence, remedy string) {
	if i := slices.IndexFunc(licences, func(l Licence) bool { return strings.EqualFold(l.ID, text) }); i >= 0 {
		return licences[i], ""
	}
	if isWebAddress(text) {
		return Licence{Name: text, Address: text}, ""
	}
	if near := table.Nearest(text, licenceIDs()); near != "" {
		return l, fmt.Sprintf("perhaps %s was meant", near)
	}
	return l, "write one of these, or the web address of the licence's text"
}

func licenceIDs() []string {
	var ids []string
	for _, l := range licences {
		ids = append(ids, l.ID)
	}
	return ids
}

func isWebAddress(text string) bool {
	at, err := url.Parse(text)
	return err == nil && (at.Scheme == "https" || at.Scheme == "http") && at.Host != ""
}
