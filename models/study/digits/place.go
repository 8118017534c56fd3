package digits

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// step parts the steps of a place: "books › Corvaes › wear › 12r › wear_se".
const step = " › "

// naming are the keys that tell one thing of a list from another, in the order
// in which a place names them.
var naming = []string{"id", "name", "choice", "book", "page", "section", "set", "office", "term", "topic", "day", "instrument"}

// passed over are keys whose values are no results: what the program calls
// itself, on which line of a file a reading stood, and where numbers are missing,
// which the null in their place tells as well.
var passed = []string{"program", "line", "missing"}

// A sheaf is the values of one result by their places.
type sheaf struct {
	places []string // in the order in which they were met
	values map[string]any
	errors map[string]float64 // standard errors of those that have one
}

// gather takes a result apart.
func gather(text []byte) (*sheaf, error) {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber() // the digits as they are written
	var tree any
	if err := decoder.Decode(&tree); err != nil {
		return nil, fmt.Errorf("the numbers of a run cannot be read: %w", err)
	}
	s := &sheaf{values: map[string]any{}, errors: map[string]float64{}}
	s.take(tree, "", nil)
	return s, nil
}

// take takes in a value; se is its standard error, of whatever form the value has.
func (s *sheaf) take(value any, place string, se any) {
	switch v := value.(type) {
	case map[string]any:
		keys := make([]string, 0, len(v))
		for key := range v {
			keys = append(keys, key)
		}
		slices.Sort(keys)
		for _, key := range keys {
			if !slices.Contains(passed, key) {
				s.take(v[key], under(place, key), errorOf(v, key))
			}
		}
	case []any:
		seen := map[string]int{}
		for i, item := range v {
			name := nameOf(item)
			if name == "" {
				name = fmt.Sprint(i + 1)
			}
			seen[name]++
			if n := seen[name]; n > 1 {
				name += fmt.Sprintf(" (%d)", n)
			}
			s.take(item, under(place, name), at(se, i, len(v)))
		}
	default:
		s.places = append(s.places, place)
		s.values[place] = v
		if size, known := float(se); known {
			s.errors[place] = size
		}
	}
}

// errorOf is the standard error of one value of a thing: that of its own name,
// such as wear_se for wear, or that of the thing; nil where there is none.
func errorOf(thing map[string]any, key string) any {
	for _, end := range []string{"_low", "_high"} {
		key = strings.TrimSuffix(key, end)
	}
	if own, there := thing[key+"_se"]; there {
		return own
	}
	return thing["se"]
}

// at is the standard error of value i of a list of n.
func at(se any, i, n int) any {
	if list, ok := se.([]any); ok && len(list) == n {
		return list[i]
	}
	return nil
}

func under(place, name string) string {
	if place == "" {
		return name
	}
	return place + step + name
}

// nameOf names a thing in a list by its own keys; empty where none tells it from
// the others.
func nameOf(item any) string {
	thing, ok := item.(map[string]any)
	if !ok {
		return ""
	}
	var names []string
	if question, ok := thing["question"].(map[string]any); ok {
		names = append(names, text(question["words"]))
	}
	for _, key := range append([]string{"question"}, naming...) {
		if name := text(thing[key]); name != "" {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

func text(value any) string {
	words, _ := value.(string)
	return words
}
