package iiif

import (
	"encoding/json"
	"html"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex/catalogue"
)

// Values of both versions of the API are read by the same functions, since
// manifests that mix their forms are common (common practice, no source).

// list is a value as a list: one that is none is a list of itself.
func list(value any) []any {
	switch value := value.(type) {
	case nil:
		return nil
	case []any:
		return value
	}
	return []any{value}
}

// id is the name of a resource, @id in version 2 and id in version 3; a text is
// its own name.
func id(value any) string {
	switch value := value.(type) {
	case string:
		return value
	case object:
		for _, key := range []string{"id", "@id"} {
			if text, ok := value[key].(string); ok {
				return text
			}
		}
	}
	return ""
}

// kindOf is the type of a resource without the prefix of version 2: Canvas for
// sc:Canvas.
func kindOf(o object) string {
	for _, key := range []string{"type", "@type"} {
		if text, ok := o[key].(string); ok {
			return strings.TrimPrefix(text, "sc:")
		}
	}
	return ""
}

// number is a value as a number; 0 where it is none.
func number(value any) float64 {
	if n, ok := value.(json.Number); ok {
		if v, err := n.Float64(); err == nil {
			return v
		}
	}
	return 0
}

var reTag = regexp.MustCompile(`<[^<>]{0,1000}>`)

// words is a label or value as text: a string, a list of them, one with its
// language (@value), or a map of languages. Of several languages English is
// taken, then text of no language, then the first in the alphabet of codes.
// Marks of HTML, which the API allows in values, are taken out.
func words(value any) string {
	return strings.Join(strings.Fields(html.UnescapeString(reTag.ReplaceAllString(plain(value), " "))), " ")
}

func plain(value any) string {
	switch value := value.(type) {
	case string:
		return value
	case json.Number:
		return value.String()
	case []any:
		return plainList(value)
	case object:
		if text, ok := value["@value"]; ok {
			if text, ok := text.(string); ok {
				return text
			}
			return ""
		}
		return plain(value[preferred(value)])
	}
	return ""
}

// plainList is a list as text: its texts, or the one of the language preferred
// where each has a language.
func plainList(values []any) string {
	languages := object{}
	var parts []string
	for _, v := range values {
		switch v := v.(type) {
		case string:
			parts = append(parts, v)
		case object:
			language, _ := v["@language"].(string)
			if text, ok := v["@value"].(string); ok && languages[language] == nil {
				languages[language] = text
			}
		}
	}
	if text, ok := languages[preferred(languages)].(string); ok {
		parts = append(parts, text)
	}
	return catalogue.Joined(parts)
}

// preferred is the language to read; empty where there is none.
func preferred(languages object) string {
	var codes []string
	for code := range languages {
		codes = append(codes, code)
	}
	slices.Sort(codes)
	for _, wanted := range []string{"en", "none", "@none", ""} {
		for _, code := range codes {
			if code == wanted || wanted == "en" && strings.HasPrefix(code, "en-") {
				return code
			}
		}
	}
	if len(codes) > 0 {
		return codes[0]
	}
	return ""
}

func short(text string) string { return catalogue.Short(text, 60) }
