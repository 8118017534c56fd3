package formats

// otherPages are the formats of others that the program reads.
func otherPages() []*page {
	item := func(name, kind, about string) row { return row{name: name, kind: kind, about: about} }
	const fetched = "Nothing is fetched, only the file that is named is read; what could be used and what was left is listed in `import.txt`."
	return []*page{
		{name: "tei", file: "*.xml (TEI P5)", title: "a library's catalogue record", form: "XML 1.0: Text Encoding Initiative, TEI P5 Guidelines, chapter 11, Manuscript Description", by: "Read by `thumbed import tei`.",
			use: "Manuscript descriptions as libraries publish them. Elements are known by their names in any namespace. " + fetched,
			parts: []part{{note: "What is used:", rows: []row{
				item("msIdentifier", "settlement, repository, idno, msName", "the book with its shelfmark"),
				item("msItem, msItemStruct", "nested to any depth", "a section each, those inside others too"),
				item("locus, locusGrp", "from and to, or in words", "where a section or picture stands; several loci, and places in words of English, Latin, French, German, Italian, Spanish and Dutch catalogues"),
				item("title, head, rubric, incipit", "text", "name and opening words of a section, and which office it is"),
				item("explicit, finalRubric, colophon", "their loci", "where a section ends that has no locus of its own"),
				item("textLang", "mainLang", "language of a section, or of the book"),
				item("extent, measure", "quantity, or in words", "leaves and flyleaves"),
				item("foliation", "in words", "whether the book is numbered by pages"),
				item("collation, formula", "as codicologists write it", "quires, singletons, cancels and insertions; see `collation`"),
				item("supportDesc, support, material", "words, or a code", "parchment or paper"),
				item("decoNote", "type, locus", "pictures and kinds of decoration of pages"),
				item("origPlace, origDate", "words, or dates in attributes", "where and when it was made"),
				item("persName, orgName, name", "of an owner or patron, by role", "who owned it"),
			}}, {heading: "msPart, msFrag", note: "Where a book is described in parts, without a description of the whole, counts of leaves and collations are not put together: `import.txt` says so."},
				{note: "Hands, layout, binding, condition, provenance, acquisition and all else are listed in `import.txt` as left."}},
			checked: "No entity is expanded; a file that is too large, too deep or no XML is refused with the place."},
		{name: "iiif", file: "*.json (IIIF manifest)", title: "a library's page images", form: "JSON-LD: IIIF Presentation API 2.1 (2017) and 3.0 (2020)", by: "Read by `thumbed import iiif`, and by a run for books that `study.toml` names under `[[images]]`.",
			use: "Manifests of page images. " + fetched,
			parts: []part{{note: "What is used:", rows: []row{
				item("sequences, canvases; items", "of version 2; of version 3", "the images in order"),
				item("label", "text, @value, or by language", "folio and side of the page on an image: f. 12r, fol. 012 recto, 12v–13r"),
				item("structures, ranges", "nested to any depth", "texts and where they stand"),
				item("metadata", "label and value", "origin, date, owner, material, collation, shelfmark, language"),
				item("width, height", "whole numbers", "which half of an image of an opening is which page"),
			}}},
			checked: "Canvases whose label names no page are listed."},
		{name: "spreadsheets", file: "*.xlsx, *.ods, *.csv", title: "a spreadsheet that a scholar kept", form: "Office Open XML (ISO/IEC 29500), OpenDocument (ISO/IEC 26300), or text with separators; told apart by what is in them", by: "Read by `thumbed import sheet`.",
			use: "Tables of a study as they were kept, with the scholar's words mapped by a file (see `mapping-toml`). " + fetched,
			parts: []part{{note: "What is used:", rows: []row{
				item("cells", "text, numbers, yes and no", "as saved; formulas are not computed, their last values are taken"),
				item("days and times", "of both epochs", "as dates and times of day"),
				item("numbers in text", "decimal point or comma", "where the whole column has one of them"),
				item("separators of text", "comma, semicolon, tab, stroke", "told from the file"),
			}}, {note: "Merged cells, colours that may mean something, comments, hidden rows and formulas without a value are listed, and nothing is made of them."}},
			checked: "Sizes are limited before anything is unpacked; a damaged or hostile archive is refused."},
		{name: "collation", file: "collation formulas", title: "how a book is made up of quires", form: "text, as codicologists write it", by: "Read in TEI and IIIF records by `thumbed import`.",
			use: "Leaves of each quire, leaves lost and added, singletons, flyleaves, in the common written variants: the number raised, after a caret, in brackets, after a full stop or a colon. What cannot be read is listed, and not guessed.", lang: "text"},
		{name: "tables", file: "any table (*.csv)", title: "a table for one model or one series", form: csvForm, by: "Read by `thumbed fit --data` and `thumbed changes`.",
			use: "Any table with the columns that the model or the command names: a table among results will do. A cell that is empty is missing, and a row with a missing value that a model needs is left out.", checked: "Numbers are plain decimal ones with a point; all problems are told at once, each with line and column."},
	}
}
