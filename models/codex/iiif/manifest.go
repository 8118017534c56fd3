package iiif

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// Bounds of what is read. Manifests of large books have some thousand canvases
// and a few megabytes (from memory).
const (
	mostBytes    = 64 << 20
	mostCanvases = 20_000
	mostRanges   = 20_000
)

// A Manifest is the images of a book and what is said of them.
type Manifest struct {
	ID       string // its URI; empty where it has none
	Label    string
	Version  int // 2 or 3
	Canvases []Canvas

	metadata []pair
	ranges   map[string]object
	order    []string // ids of ranges in the order of the file
	raw      object

	unprintable int // characters that were left out
}

// A Canvas is the place of one image, or of several of one view.
type Canvas struct {
	ID            string
	Label         string
	Pages         []codex.PageLabel // that its label names: one, two of an opening, or none
	Width, Height float64           // in the canvas's own units; 0 where not told
	Image         string            // address of its first image; empty where the manifest names none
}

// what is how the account calls a canvas.
func (c *Canvas) what(n int) string {
	if c.Label == "" {
		return fmt.Sprintf("canvas %d, without a label", n+1)
	}
	return fmt.Sprintf("canvas %d, “%s”", n+1, short(c.Label))
}

type object = map[string]any

// A pair is a label and a value of a manifest's metadata.
type pair struct{ label, value string }

// ReadManifest reads the text of a manifest, version 2 or 3; file names it in
// problems. It gives nil with a problem where it cannot.
func ReadManifest(file string, data []byte, ps *table.Problems) *Manifest {
	fault := func(line int, column, value, expected, remedy string) *Manifest {
		ps.Add(table.Problem{File: file, Line: line, Column: column, Value: value, Expected: expected, Remedy: remedy})
		return nil
	}
	const wanted = "a IIIF manifest, version 2 or 3"
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data) > mostBytes:
		return fault(0, "", fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d megabytes", mostBytes>>20), "check where the file comes from; no manifest is so large")
	case len(bytes.TrimSpace(data)) == 0:
		return fault(1, "", "", wanted, "the file is empty: fetch it again")
	}
	if n := countCanvases(data); n > mostCanvases {
		return fault(0, "items", fmt.Sprintf("more than %d canvases", mostCanvases), fmt.Sprintf("at most %d", mostCanvases), "check where the file comes from; no book has so many pages")
	}
	raw, unprintable, line, err := decode(data)
	var twice doubledError
	if errors.As(err, &twice) {
		return fault(line, string(twice), "a second “"+string(twice)+"” in one object", "each name once", "keep the one that is right; programs differ in which of the two they take")
	}
	if err != nil {
		return fault(line, "", near(data, line), wanted+", in well-formed JSON", fmt.Sprintf("fetch it again, as the manifest itself and not the page around it (%v)", err))
	}
	m := &Manifest{raw: raw, unprintable: unprintable, ID: id(raw), Label: words(raw["label"]), ranges: map[string]object{}}
	switch kind := kindOf(raw); {
	case kind == "Collection":
		return fault(1, "type", "Collection", wanted, "this is a list of manifests: fetch that of the one book")
	case raw["sequences"] != nil:
		m.Version = 2
	case kind == "Manifest" || raw["items"] != nil:
		m.Version = 3
	default:
		return fault(1, "type", kind, wanted, "fetch the manifest itself, whose type is Manifest")
	}
	for _, entry := range list(raw["metadata"]) {
		if o, ok := entry.(object); ok {
			m.metadata = append(m.metadata, pair{words(o["label"]), words(o["value"])})
		}
	}
	m.readCanvases()
	if len(m.Canvases) == 0 {
		return fault(0, "items", "no canvas", "a canvas for each image", "fetch the manifest again; without canvases it shows nothing of the book")
	}
	if m.readRanges(raw["structures"]); len(m.ranges) > mostRanges {
		return fault(0, "structures", fmt.Sprintf("%d ranges", len(m.ranges)), fmt.Sprintf("at most %d", mostRanges), "check where the file comes from; no book has so many texts")
	}
	return m
}

// A frame is an object or a list of a file that is not yet closed.
type frame struct {
	object bool
	key    string // the name last read
	named  bool   // its value comes next
}

// countCanvases counts canvases, up to one more than a manifest may have, without
// keeping any of the file: a manifest with too many is refused before it fills the
// memory. Version 2 has them in sequences, version 3 in items.
func countCanvases(data []byte) int {
	decoder := json.NewDecoder(bytes.NewReader(data))
	var open []frame
	isCanvas := func() bool {
		return len(open) == 2 && open[0].key == "items" && !open[1].object ||
			len(open) == 4 && open[0].key == "sequences" && open[2].key == "canvases" && !open[3].object
	}
	count := 0
	for count <= mostCanvases {
		token, err := decoder.Token()
		if err != nil {
			break // what is wrong shows when the file is read
		}
		top := len(open) - 1
		switch token {
		case json.Delim('{'), json.Delim('['):
			if token == json.Delim('{') && isCanvas() {
				count++
			}
			open = append(open, frame{object: token == json.Delim('{')})
			continue
		case json.Delim('}'), json.Delim(']'):
			open = open[:top]
			top--
		default:
			if key, isText := token.(string); isText && top >= 0 && open[top].object && !open[top].named {
				open[top].key, open[top].named = key, true
				continue
			}
		}
		if top >= 0 {
			open[top].named = false
		}
	}
	return count
}

// A decoding is a file on the way through, without its unprintable characters.
type decoding struct {
	*json.Decoder
	unprintable int
}

// decode reads one JSON object, how many characters were left out, and the line
// where it goes wrong.
func decode(data []byte) (object, int, int, error) {
	decoder := &decoding{Decoder: json.NewDecoder(bytes.NewReader(data))}
	decoder.UseNumber()
	whole, err := decodeValue(decoder, 0)
	raw, isObject := whole.(object)
	if err == nil {
		if _, more := decoder.Token(); more != io.EOF {
			err = errors.New("something follows its end")
		} else if !isObject {
			err = errors.New("it is no object")
		}
	}
	at := decoder.InputOffset()
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		at = syntax.Offset
	case errors.Is(err, io.ErrUnexpectedEOF):
		at = int64(len(bytes.TrimSpace(data)))
	}
	at = min(at, int64(len(data)))
	return raw, decoder.unprintable, 1 + bytes.Count(data[:at], []byte("\n")), err
}

// mostNested is how deep values may stand inside each other.
const mostNested = 10_000

// decodeValue reads the next value. An object that has a name twice is refused:
// readers of JSON differ in which they take (RFC 8259, section 4), and half a
// book's canvases would be lost without a word.
func decodeValue(decoder *decoding, depth int) (any, error) {
	if depth > mostNested {
		return nil, fmt.Errorf("more than %d values stand inside each other", mostNested)
	}
	token, err := next(decoder)
	if err != nil {
		return nil, err
	}
	switch token {
	case json.Delim('{'):
		out := object{}
		for decoder.More() {
			name, err := next(decoder)
			if err != nil {
				return nil, err
			}
			key, _ := name.(string) // the decoder lets nothing else through
			if _, twice := out[key]; twice {
				return nil, doubledError(key)
			}
			if out[key], err = decodeValue(decoder, depth+1); err != nil {
				return nil, err
			}
		}
		_, err := next(decoder) // its end
		return out, err
	case json.Delim('['):
		out := []any{}
		for decoder.More() {
			value, err := decodeValue(decoder, depth+1)
			if err != nil {
				return nil, err
			}
			out = append(out, value)
		}
		_, err := next(decoder) // its end
		return out, err
	}
	return token, nil
}

// next reads a piece of the file where there must be one.
func next(decoder *decoding) (json.Token, error) {
	token, err := decoder.Token()
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	if text, ok := token.(string); ok {
		text, n := table.Printable(text)
		decoder.unprintable += n
		return text, err
	}
	return token, err
}

// A doubledError is a name that stands twice in one object.
type doubledError string

func (name doubledError) Error() string {
	return fmt.Sprintf("the name %q stands twice in one object", string(name))
}

// near is the beginning of a line of a file.
func near(data []byte, line int) string {
	lines := bytes.SplitN(data, []byte("\n"), line+1)
	if line > len(lines) {
		return ""
	}
	text := bytes.TrimSpace(lines[line-1])
	return strings.ToValidUTF8(string(text[:min(len(text), 60)]), "?")
}

func (m *Manifest) readCanvases() {
	items := list(m.raw["items"])
	if m.Version == 2 {
		items = nil
		// The first sequence is the book's own order; others are others' orders.
		if sequences := list(m.raw["sequences"]); len(sequences) > 0 {
			if first, ok := sequences[0].(object); ok {
				items = list(first["canvases"])
			}
		}
	}
	for _, item := range items {
		o, ok := item.(object)
		if !ok || m.Version == 3 && kindOf(o) != "Canvas" {
			continue
		}
		label := words(o["label"])
		m.Canvases = append(m.Canvases, Canvas{ID: id(o), Label: label, Pages: pagesOf(label), Width: number(o["width"]), Height: number(o["height"]), Image: imageOf(o)})
	}
}

// imageOf is the address of the first image painted on a canvas: version 2,
// images, resource; version 3, items, items, body (IIIF Presentation API).
func imageOf(canvas object) string {
	first := func(value any, key string) any {
		for _, item := range list(value) {
			if o, ok := item.(object); ok {
				return o[key]
			}
		}
		return nil
	}
	if image := first(canvas["images"], "resource"); image != nil {
		return id(image)
	}
	for _, body := range list(first(first(canvas["items"], "items"), "body")) {
		return id(body)
	}
	return ""
}

// Image is the address of the image that shows a page; empty where none does.
func (m *Manifest) Image(page codex.PageLabel) string {
	for _, c := range m.Canvases {
		for _, shown := range c.Pages {
			if bare(shown) == bare(page) && c.Image != "" {
				return c.Image
			}
		}
	}
	return ""
}

// readRanges gathers ranges, also those that stand inside others.
func (m *Manifest) readRanges(value any) {
	for _, item := range list(value) {
		o, ok := item.(object)
		if !ok || kindOf(o) != "Range" {
			continue
		}
		key := id(o)
		if key == "" {
			key = fmt.Sprintf("a range without a name, %d", len(m.order)+1)
			o["id"] = key
		}
		if _, known := m.ranges[key]; known && !hasParts(o) {
			continue // a mention of one that is told elsewhere
		}
		if _, known := m.ranges[key]; !known {
			m.order = append(m.order, key)
		}
		m.ranges[key] = o
		m.readRanges(o["items"])
	}
}

func hasParts(o object) bool {
	return o["items"] != nil || o["canvases"] != nil || o["ranges"] != nil || o["members"] != nil
}
