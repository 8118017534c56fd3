package deposit

import "thumbed/models/table/keys"

// Keys says what the keys of a Statement mean.
func (Statement) Keys() keys.List {
	return keys.List{
		"licence":     {About: "short identifier of a licence (SPDX), or the web address of one"},
		"description": {About: "what the readings are and why they were taken"},
		"keywords":    {About: "words by which the deposit is to be found"},
		"date":        {About: "day of publication, ISO 8601; the day of the last reading where not given"},
		"creator":     {About: "the persons who made the study; its author where none is given"},
	}
}

// Keys says what the keys of a Creator mean.
func (Creator) Keys() keys.List {
	return keys.List{
		"name":        {About: "name of the person", Required: true},
		"orcid":       {About: "the person's ORCID, such as 0000-0002-1825-0097, or its web address"},
		"affiliation": {About: "where the person works"},
		"email":       {About: "the person's address"},
	}
}

// Keys says what the keys of a dataPackage mean.
func (dataPackage) Keys() keys.List {
	return keys.List{
		"profile":      {About: "which profile it follows", Words: []string{"data-package"}},
		"name":         {About: "name of the package, in small letters"},
		"title":        {About: "title of the study"},
		"description":  {About: "what the package holds"},
		"keywords":     {About: "words by which it is to be found"},
		"licenses":     {About: "the licence, where one is stated"},
		"contributors": {About: "the persons who made the study"},
		"sources":      {About: "the books that were measured"},
		"resources":    {About: "every file but this one"},
	}
}

// Keys says what the keys of a license mean.
func (license) Keys() keys.List {
	return keys.List{
		"name":  {About: "short identifier of the licence (SPDX)"},
		"path":  {About: "web address of its text"},
		"title": {About: "its name"},
	}
}

// Keys says what the keys of a contributor mean.
func (contributor) Keys() keys.List {
	return keys.List{
		"title":        {About: "name of the person"},
		"path":         {About: "web address of the person's ORCID"},
		"email":        {About: "the person's address"},
		"organization": {About: "where the person works"},
		"role":         {About: "what the person did", Words: []string{"author"}},
	}
}

// Keys says what the keys of a source mean.
func (source) Keys() keys.List {
	return keys.List{
		"title": {About: "the book with its shelfmark"},
	}
}

// Keys says what the keys of a resource mean.
func (resource) Keys() keys.List {
	return keys.List{
		"profile":     {About: "whether it is a table", Words: []string{plainProfile, tableProfile}},
		"name":        {About: "name of the resource; study and record are those that a reader looks for first"},
		"path":        {About: "path of the file in the bundle"},
		"description": {About: "what the file is"},
		"format":      {About: "ending of its name"},
		"mediatype":   {About: "its media type"},
		"encoding":    {About: "encoding of its text"},
		"bytes":       {About: "its size", Unit: "bytes"},
		"hash":        {About: "its SHA-256, in hexadecimal after sha256:"},
		"dialect":     {About: "how the table's text is parted"},
		"schema":      {About: "what the table's columns are: a Table Schema"},
	}
}

// Keys says what the keys of a dialect mean.
func (dialect) Keys() keys.List {
	return keys.List{
		"delimiter":      {About: "mark between cells"},
		"doubleQuote":    {About: "whether a quotation mark inside a cell is doubled"},
		"lineTerminator": {About: "what ends a line"},
		"quoteChar":      {About: "mark about a cell"},
		"header":         {About: "whether the first line names the columns"},
	}
}
