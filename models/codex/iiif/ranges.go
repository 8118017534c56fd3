package iiif

import (
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// mostDepth is how deep ranges may stand inside each other.
const mostDepth = 100

// texts reads the ranges as texts. Those that no other range holds come first;
// one that stands for the whole table of contents is not a text itself.
func (r *reader) texts() []*catalogue.Item {
	held := map[string]bool{}
	r.adopt()
	for _, key := range r.order {
		for _, part := range r.parts(key) {
			if part.isRange {
				held[part.id] = true
			}
		}
	}
	used := map[string]bool{}
	var items []*catalogue.Item
	for _, key := range r.order {
		if !held[key] {
			items = append(items, r.text(key, used, 0)...)
		}
	}
	for _, key := range r.order {
		if !used[key] {
			r.account.Leave(0, r.what(key), "it is part of itself, or stands more than %d ranges deep; mend the manifest", mostDepth)
		}
	}
	if len(items) == 1 && len(items[0].Loci) == 0 {
		items = items[0].Children // it holds the whole table of contents
	}
	r.noteBeginnings(items)
	return items
}

// adopt gives a range to the one that it says it is within, where that one does
// not list it (Presentation API 2.1, section 3.4).
func (r *reader) adopt() {
	r.adopted = map[string][]part{}
	listed := map[string]bool{}
	for _, key := range r.order {
		for _, p := range parts(r.ranges[key]) {
			if p.isRange {
				listed[p.id] = true
			}
		}
	}
	for _, key := range r.order {
		for _, parent := range list(r.ranges[key]["within"]) {
			if _, known := r.ranges[id(parent)]; known && !listed[key] && id(parent) != key {
				listed[key] = true
				r.adopted[id(parent)] = append(r.adopted[id(parent)], part{id: key, isRange: true})
			}
		}
	}
}

// parts are the members of a range with those that say they are within it.
func (r *reader) parts(key string) []part { return append(parts(r.ranges[key]), r.adopted[key]...) }

func (r *reader) what(key string) string {
	return "the range “" + short(words(r.ranges[key]["label"])) + "”"
}

// A part is a member of a range: another range or a canvas.
type part struct {
	id      string
	isRange bool
}

// parts are the members of a range in their order: canvases, ranges or members
// in version 2, items in version 3, where a canvas may be given by its name, in
// part (#xywh=…) or as the source of a specific resource.
func parts(o object) []part {
	var out []part
	for _, canvas := range list(o["canvases"]) {
		out = append(out, part{id: whole(id(canvas))})
	}
	for _, inner := range list(o["ranges"]) {
		out = append(out, part{id: id(inner), isRange: true})
	}
	for _, key := range []string{"members", "items"} {
		for _, member := range list(o[key]) {
			p := part{id: id(member)}
			if inner, ok := member.(object); ok {
				switch kindOf(inner) {
				case "Range":
					p.isRange = true
				case "SpecificResource":
					p.id = id(inner["source"])
				}
			}
			if !p.isRange {
				p.id = whole(p.id)
			}
			out = append(out, p)
		}
	}
	return out
}

// whole is the name of a canvas without the part of it that is meant.
func whole(name string) string {
	name, _, _ = strings.Cut(name, "#")
	return name
}

// text reads a range with the ranges in it. It gives those in it for a range
// that says it is no text itself.
func (r *reader) text(key string, used map[string]bool, depth int) []*catalogue.Item {
	o, known := r.ranges[key]
	if !known || used[key] || depth > mostDepth {
		return nil
	}
	used[key] = true
	item := &catalogue.Item{Title: words(o["label"])}
	unnamed := 0
	for _, p := range r.parts(key) {
		if p.isRange {
			item.Children = append(item.Children, r.text(p.id, used, depth+1)...)
			continue
		}
		if pages := r.pages[p.id]; pages == nil {
			unnamed++
		} else {
			item.Loci = append(item.Loci, codex.Range{From: pages[0], To: pages[len(pages)-1]})
		}
	}
	if unnamed > 0 {
		r.account.Note(0, r.what(key), "%s of it, which no label names a page of, could not be placed", catalogue.Count(unnamed, "canvas", "canvases"))
	}
	if root(o) {
		return item.Children
	}
	return []*catalogue.Item{item}
}

// root tells whether a range says that it is the whole table of contents, or
// another order of the pages.
func root(o object) bool {
	if hint, ok := o["viewingHint"].(string); ok && hint == "top" {
		return true
	}
	for _, behaviour := range list(o["behavior"]) {
		if behaviour == "sequence" {
			return true
		}
	}
	return false
}

// noteBeginnings marks that every range names but one canvas: libraries often give
// no more than the image on which a text begins.
func (r *reader) noteBeginnings(items []*catalogue.Item) {
	texts, single := 0, 0
	var each func(items []*catalogue.Item, do func(*catalogue.Item))
	each = func(items []*catalogue.Item, do func(*catalogue.Item)) {
		for _, item := range items {
			do(item)
			each(item.Children, do)
		}
	}
	each(items, func(item *catalogue.Item) {
		if len(item.Loci) > 0 {
			texts++
		}
		if len(item.Loci) == 1 {
			single++
		}
	})
	if texts < 2 || single < texts {
		return
	}
	each(items, func(item *catalogue.Item) {
		if len(item.Loci) == 1 {
			item.Loci[0].To = item.Loci[0].From // of an opening the first page
			item.Begins, item.RunsOn = true, true
		}
	})
	r.account.Note(0, "the ranges", "each names one image, so they are taken to tell where texts begin; each ends where the next begins")
}
