package report

import (
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
)

// Names of files and of places on the page. They are made of the scholar's own
// names in letters that every file system takes; where two would be the same,
// the later has its number behind it.

// mostName is how long a file name made of a name of the scholar's may be; names
// made of two such, with words of ours, still have less than 255 bytes, which is
// as many as the usual file systems take.
const mostName = 64

// fileName turns a name into one that every file system takes.
func fileName(name string) string { return strings.Trim(fileLetters(name), "-") }

// fileLetters puts letters, digits and hyphens for the characters of a name.
func fileLetters(name string) string {
	return strings.Map(func(c rune) rune {
		switch {
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9', c == '-':
			return c
		case c >= 'A' && c <= 'Z':
			return c + 'a' - 'A'
		}
		return '-'
	}, name)
}

// distinct is the file name of the last of the names, different from those of
// all before it.
func distinct(names []string) string {
	taken := map[string]bool{"": true}
	name := ""
	for i, full := range names {
		base := fileName(full)
		base = strings.TrimRight(base[:min(len(base), mostName)], "-")
		name = base
		for k := i + 1; taken[name]; k++ {
			name = strings.TrimPrefix(base+"-"+strconv.Itoa(k), "-")
		}
		taken[name] = true
	}
	return name
}

// bookNames are what a book is called: in a sentence, and in the names of files.
type bookNames struct{ quoted, file string }

func (r *Results) names(b *codex.Book) bookNames {
	return bookNames{r.quotedName(b), r.bookFile(b)}
}

// bookFile names the files of a book of these results.
func (r *Results) bookFile(b *codex.Book) string {
	var ids []string
	for _, other := range r.Books {
		ids = append(ids, other.Book.ID)
		if other.Book == b {
			break
		}
	}
	return distinct(ids)
}

// setFile names the files of one set of hours of a book.
func (r *Results) setFile(b *codex.Book, c *dropoff.Decline) string {
	var sets []string
	for _, other := range r.Books {
		if other.Book != b {
			continue
		}
		for _, carried := range other.Declines {
			sets = append(sets, setName(carried.Set))
			if carried == c {
				return r.bookFile(b) + "-" + distinct(sets)
			}
		}
	}
	return r.bookFile(b)
}

// modelFile names the files of a model of the study file.
func (r *Results) modelFile(name string) string {
	var names []string
	for _, m := range r.Models {
		if len(names) == 0 || names[len(names)-1] != m.Name {
			names = append(names, m.Name)
		}
		if m.Name == name {
			break
		}
	}
	return distinct(names)
}

// fitFile names the places of one fit: the model, and the book where the model
// is fitted book by book.
func (r *Results) fitFile(m ModelResult) string {
	name := r.modelFile(m.Name)
	for _, b := range r.Books {
		if b.Book.ID == m.Book {
			return name + "-in-" + r.bookFile(b.Book)
		}
	}
	return name
}
