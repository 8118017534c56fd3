package deposit

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/study"
	"thumbed/models/table"
)

// A Checked is a bundle that was looked through and found whole.
type Checked struct {
	Title  string
	Files  int
	Bytes  int64
	Tables int
	Rows   int
	Rerun  string // the command that makes the run again, in the folder of the unpacked bundle
}

// Check looks through a bundle, a folder or a .zip: whether all files are there
// and none else, each with the SHA-256 that the data package says; whether each
// table is as its schema says; whether the record sealed these very inputs and
// results; and whether the metadata is as the two standards want it. The error is
// a [*table.Fault] of all that is not so.
func Check(at string) (*Checked, error) {
	h, err := open(at)
	if err != nil {
		return nil, err
	}
	defer h.close()
	c := &checker{at: at, held: h, sums: map[string]string{}, out: &Checked{}}
	c.all()
	if err := c.ps.Err(); err != nil {
		return nil, err
	}
	return c.out, nil
}

// A checker gathers what is wrong with a bundle.
type checker struct {
	at   string
	held *holding
	ps   table.Problems
	sums map[string]string // SHA-256 in hexadecimal by path
	out  *Checked
}

// wrong reports something about a file of the bundle.
func (c *checker) wrong(name, value, expected, remedy string) {
	c.ps.Add(table.Problem{File: c.at, Column: name, Value: value, Expected: expected, Remedy: remedy})
}

const (
	askAgain  = "ask for the bundle again where it comes from"
	notByUs   = "give a bundle that thumbed bundle made"
	addedFile = "remove it, if you put it there; else ask for the bundle again"
)

func (c *checker) all() {
	p := &dataPackage{}
	if !c.readJSON(PackageName, p) {
		return
	}
	c.out.Title = p.Title
	if c.profile(p); c.ps.Len() > 0 {
		return
	}
	c.out.Files, c.out.Bytes = 1, c.held.sizes[PackageName]
	for _, r := range p.Resources {
		c.resource(r)
	}
	c.list(p)
	c.strangers(p)
	c.record(p)
	c.crate(p)
}

// readJSON reads a file of metadata.
func (c *checker) readJSON(name string, into any) bool {
	text, err := c.held.read(name, largestText)
	if err != nil {
		c.wrong(name, "", "a file that can be read ("+err.Error()+")", notByUs)
		return false
	}
	c.sums[name] = study.SumOf(name, text).SHA256
	if err := json.Unmarshal(text, into); err != nil {
		c.wrong(name, "text that is no such JSON", err.Error(), askAgain)
		return false
	}
	return true
}

var (
	resourceName = regexp.MustCompile(`^[-a-z0-9._/]+$`)
	resourceHash = regexp.MustCompile(`^` + hashKind + `[0-9a-f]{64}$`)
)

// profile checks what the data package says of itself.
func (c *checker) profile(p *dataPackage) {
	if p.Profile != "data-package" || len(p.Resources) == 0 {
		c.wrong(PackageName, p.Profile, "a data package with resources", notByUs)
	}
	names, paths := map[string]bool{}, map[string]bool{PackageName: true}
	for _, r := range p.Resources {
		switch {
		case !resourceName.MatchString(r.Name) || names[r.Name]:
			c.wrong(PackageName, r.Name, "a name for each resource, once, of small letters, digits and - . _ /", askAgain)
		case badName(r.Path) != "" || paths[r.Path]:
			c.wrong(PackageName, r.Path, "a path inside the bundle, once", askAgain)
		case !resourceHash.MatchString(r.Hash) || r.Bytes < 0:
			c.wrong(r.Path, r.Hash, "its SHA-256, after "+hashKind, askAgain)
		case r.Profile != plainProfile && r.Profile != tableProfile:
			c.wrong(r.Path, r.Profile, plainProfile+" or "+tableProfile, askAgain)
		}
		names[r.Name], paths[r.Path] = true, true
	}
}

// resource checks one file, and a table's cells.
func (c *checker) resource(r resource) {
	in, err := c.held.open(r.Path)
	if err != nil {
		c.wrong(r.Path, "", "the file ("+err.Error()+")", askAgain)
		return
	}
	sum := newSum(io.LimitReader(in, r.Bytes+1))
	if r.Profile == tableProfile {
		c.table(r, sum)
	}
	got, size, err := sum.finish()
	if err := errors.Join(err, in.Close()); err != nil {
		c.wrong(r.Path, "", "the whole file ("+err.Error()+")", askAgain)
		return
	}
	c.sums[r.Path] = got
	c.out.Files, c.out.Bytes = c.out.Files+1, c.out.Bytes+size
	switch {
	case size > r.Bytes:
		c.wrong(r.Path, "more", fmt.Sprintf("%d bytes", r.Bytes), askAgain)
	case size < r.Bytes:
		c.wrong(r.Path, fmt.Sprintf("%d bytes", size), fmt.Sprintf("%d bytes", r.Bytes), askAgain)
	case hashKind+got != r.Hash:
		c.wrong(r.Path, hashKind+got, r.Hash+", so it is not what was bundled", askAgain)
	}
}

// table checks a table against the schema that stands with it.
func (c *checker) table(r resource, in io.Reader) {
	var schema table.Schema
	if err := json.Unmarshal(r.Schema, &schema); err != nil || len(schema.Fields) == 0 {
		c.wrong(r.Path, "", "a schema of the table in "+PackageName, askAgain)
		return
	}
	var ps table.Problems
	t := table.ReadFrom(path.Join(c.at, r.Path), in, &ps)
	if t != nil {
		var fields []string
		for _, f := range schema.Fields {
			fields = append(fields, f.Name)
		}
		if !slices.Equal(fields, t.Names()) {
			c.wrong(r.Path, strings.Join(t.Names(), ","), "the columns of its schema: "+strings.Join(fields, ","), askAgain)
		}
		schema.Check(t, &ps)
		c.out.Tables, c.out.Rows = c.out.Tables+1, c.out.Rows+t.Rows()
	}
	c.ps.Add(ps.List()...)
}

// list checks the list of sums, which alone holds that of the data package. Bundles of
// before have none.
func (c *checker) list(p *dataPackage) {
	text, err := c.held.read(SumsName, largestText)
	if errors.Is(err, fs.ErrNotExist) {
		return
	}
	if err != nil {
		c.wrong(SumsName, "", "a file that can be read ("+err.Error()+")", askAgain)
		return
	}
	c.out.Files, c.out.Bytes = c.out.Files+1, c.out.Bytes+int64(len(text))
	sums := map[string]string{PackageName: c.sums[PackageName]}
	for _, r := range p.Resources {
		sums[r.Path] = strings.TrimPrefix(r.Hash, hashKind)
	}
	for _, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		sum, name, _ := strings.Cut(line, "  ")
		switch known, ok := sums[name]; {
		case !ok:
			c.wrong(SumsName, name, "each file of the bundle, once", askAgain)
		case known != sum:
			c.wrong(name, known, sum+", as "+SumsName+" says", askAgain)
		}
		delete(sums, name)
	}
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		c.wrong(SumsName, "", "a sum of "+name, askAgain)
	}
}

// strangers reports files that the data package does not list.
func (c *checker) strangers(p *dataPackage) {
	for _, name := range c.held.names {
		if name != PackageName && name != SumsName && !slices.ContainsFunc(p.Resources, func(r resource) bool { return r.Path == name }) {
			c.wrong(name, path.Base(name), "only files that "+PackageName+" lists", addedFile)
		}
	}
}

// record checks that the record was made from these inputs and with these results.
func (c *checker) record(p *dataPackage) {
	at := func(name string) string {
		if i := slices.IndexFunc(p.Resources, func(r resource) bool { return r.Name == name }); i >= 0 {
			return p.Resources[i].Path
		}
		return ""
	}
	studyPath, recordPath := at(studyResource), at(recordResource)
	if studyPath == "" || recordPath == "" {
		c.wrong(PackageName, "", "resources named "+studyResource+" and "+recordResource, notByUs)
		return
	}
	text, err := c.held.read(recordPath, largestRecord)
	if err != nil {
		c.wrong(recordPath, "", "the record of the run ("+err.Error()+")", askAgain)
		return
	}
	record, err := study.ParseRecord(recordPath, text)
	if err != nil {
		c.wrong(recordPath, "", "the record of the run ("+err.Error()+")", askAgain)
		return
	}
	sealed := func(dir string, files []study.FileSum) {
		for _, f := range files {
			if name := path.Join(dir, f.Path); c.sums[name] != f.SHA256 {
				c.wrong(name, c.sums[name], "the SHA-256 that the record sealed: "+f.SHA256, askAgain)
			}
		}
	}
	sealed(path.Dir(studyPath), record.Inputs)
	sealed(path.Dir(recordPath), record.Outputs)
	home := path.Dir(studyPath)
	if home == "." {
		home = ""
	}
	c.out.Rerun = rerunWords(home, path.Base(studyPath), record.Study)
}

// crate checks that the RO-Crate describes the files of the data package.
func (c *checker) crate(p *dataPackage) {
	found := crate{}
	text, err := c.held.read(CrateName, largestText)
	if err != nil {
		c.wrong(CrateName, "", "a file that can be read ("+err.Error()+")", askAgain)
		return
	}
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&found); err != nil {
		c.wrong(CrateName, "text that is no flat JSON-LD", err.Error(), askAgain)
		return
	}
	described := map[string]bool{}
	for _, e := range found.Graph {
		if id, is := e.file(); is {
			described[id] = true
		}
	}
	files := append(slices.Clone(p.Resources), resource{Path: PackageName})
	if slices.Contains(c.held.names, SumsName) {
		files = append(files, resource{Path: SumsName})
	}
	for _, r := range files {
		if r.Path != CrateName && !described[idOf(r.Path)] {
			c.wrong(CrateName, r.Path, "an entity for each file", askAgain)
		}
		delete(described, idOf(r.Path))
	}
	for id := range described {
		c.wrong(CrateName, id, "only files that are in the bundle", askAgain)
	}
}
