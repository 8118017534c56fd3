package deposit

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"
)

// A complaint is one way in which a crate is not as its standard wants it.
type complaint struct{ value, expected string }

// CrateComplaints are the ways in which a crate is not as RO-Crate 1.1 says that it must
// be. Each rule stands under the section that states it. The program itself does not hold
// its crates to the standard when they are read: they are as it wrote them, or their sums
// are others.
func CrateComplaints(text string) []string {
	var c crate
	if err := json.Unmarshal([]byte(text), &c); err != nil {
		return []string{err.Error()}
	}
	k := &crateCheck{byID: map[string]entity{}}
	if c.Context != crateContext {
		k.add(c.Context, "the context "+crateContext+" (Structure)")
	}
	for _, e := range c.Graph {
		k.entity(e)
	}
	k.root()
	k.parts()
	var out []string
	for _, found := range k.found {
		out = append(out, found.value+": expected "+found.expected)
	}
	return out
}

type crateCheck struct {
	byID  map[string]entity
	found []complaint
}

func (k *crateCheck) add(value, expected string) {
	k.found = append(k.found, complaint{value, expected})
}

// entity checks one object of the graph by itself.
func (k *crateCheck) entity(e entity) {
	id, _ := e["@id"].(string)
	switch _, again := k.byID[id]; {
	case id == "":
		k.add(fmt.Sprint(e["name"]), "an @id of each entity (JSON-LD, flattened form)")
	case again:
		k.add(id, "each @id once (Contextual vs data entities)")
	case !isReference(id):
		k.add(id, "an @id that is a URI or a URI path inside the bundle (Describing entities in JSON-LD)")
	}
	k.byID[id] = e
	if len(texts(e["@type"])) == 0 {
		k.add(id, "a @type of each entity (JSON-LD, flattened form)")
	}
	for property, value := range e {
		for _, v := range list(value) {
			if nested, ok := v.(map[string]any); ok && (len(nested) != 1 || nested["@id"] == nil) {
				k.add(id+" "+property, "references in place of nested things (JSON-LD, flattened form)")
			}
		}
	}
	for _, property := range []string{"startTime", "endTime"} {
		if at, ok := e[property]; ok && !isDate(at) {
			k.add(id+" "+property, "a date in ISO 8601 (Recording changes to RO-Crates)")
		}
	}
}

// root checks the descriptor and the root data entity.
func (k *crateCheck) root() {
	descriptor := k.byID[CrateName]
	if descriptor == nil || !slices.Contains(texts(descriptor["@type"]), "CreativeWork") {
		k.add(CrateName, "a descriptor of type CreativeWork (RO-Crate Metadata File Descriptor)")
		return
	}
	if about := references(descriptor["about"]); !slices.Equal(about, []string{rootID}) {
		k.add(strings.Join(about, " "), "a descriptor about "+rootID+" (RO-Crate Metadata File Descriptor)")
	}
	if conforms := references(descriptor["conformsTo"]); !slices.Equal(conforms, []string{crateVersion}) {
		k.add(strings.Join(conforms, " "), "a descriptor that conforms to "+crateVersion+" (RO-Crate Metadata File Descriptor)")
	}
	root := k.byID[rootID]
	if !slices.Contains(texts(root["@type"]), "Dataset") {
		k.add(rootID, "a root data entity of type Dataset (Direct properties of the Root Data Entity)")
	}
	for _, property := range []string{"name", "description", "datePublished", "license"} {
		if root[property] == nil || root[property] == "" {
			k.add(rootID, "its "+property+" (Direct properties of the Root Data Entity)")
		}
	}
	if root["datePublished"] != nil && !isDate(root["datePublished"]) {
		k.add(fmt.Sprint(root["datePublished"]), "datePublished as a date in ISO 8601 (Direct properties of the Root Data Entity)")
	}
}

// parts checks that what stands in the bundle is reached from the root, and that
// what is referred to is there.
func (k *crateCheck) parts() {
	reached := map[string]bool{}
	k.reach(rootID, reached)
	for id, e := range k.byID {
		types := texts(e["@type"])
		data := slices.Contains(types, "File") || slices.Contains(types, "Dataset")
		if data && !reached[id] {
			k.add(id, "files and folders that are parts of the root (Referencing files and folders from the Root Data Entity)")
		}
		if slices.Contains(types, "Dataset") && !strings.HasSuffix(id, "/") {
			k.add(id, "a folder's @id with / at its end (Directory File Entity)")
		}
		for property, value := range e {
			for _, to := range references(value) {
				if k.byID[to] == nil && to != crateVersion {
					k.add(id+" "+property+" "+to, "what is referred to (Structure)")
				}
			}
		}
	}
	slices.SortFunc(k.found, func(a, b complaint) int { return strings.Compare(a.value+a.expected, b.value+b.expected) })
}

// reach marks a thing and its parts.
func (k *crateCheck) reach(id string, reached map[string]bool) {
	if reached[id] {
		return
	}
	reached[id] = true
	for _, part := range references(k.byID[id]["hasPart"]) {
		k.reach(part, reached)
	}
}

// isReference tells whether an identifier is a URI or a path that stays inside.
func isReference(id string) bool {
	at, err := url.Parse(id)
	return err == nil && !strings.ContainsAny(id, ` \<>"{}|^`+"`") && !strings.HasPrefix(id, "/") &&
		(at.IsAbs() || !slices.Contains(strings.Split(at.Path, "/"), ".."))
}

func isDate(value any) bool {
	text, _ := value.(string)
	for _, layout := range []string{"2006", "2006-01", time.DateOnly, time.RFC3339} {
		if _, err := time.Parse(layout, text); err == nil {
			return true
		}
	}
	return false
}

// references are the things that a property refers to.
func references(value any) (out []string) {
	for _, v := range list(value) {
		if thing, ok := v.(map[string]any); ok {
			if id, ok := thing["@id"].(string); ok {
				out = append(out, id)
			}
		}
	}
	return out
}
