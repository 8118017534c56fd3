package formats

import (
	"reflect"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/corpus"
	"thumbed/models/study/deposit"
	"thumbed/models/study/plan"
	"thumbed/models/study/portion"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
	"thumbed/models/traces"
)

const (
	csvForm  = "CSV (RFC 4180) in UTF-8, the first line with the names of the columns, missing values as empty cells"
	tomlForm = "TOML 1.0 in UTF-8"
	jsonForm = "JSON (RFC 8259) in UTF-8"
)

// tablePages are the tables that a study is read from.
func tablePages() []*page {
	const checked = "`thumbed check` reads every row and tells all that is wrong at once: file, line, column, what stands there, what was expected, and how to mend it. A column that is not named here is the scholar's own and passes."
	const own = " Columns of the scholar's own become features of the pages, by which models may tell pages apart."
	of := func(name, title, use string, s table.Schema) *page {
		return &page{name: name, file: name + ".csv", title: title, use: use, form: csvForm, by: "Read by every verb that takes a study; its name is the scholar's, and stands in `study.toml`. Written by `thumbed demo` and `thumbed import`.",
			parts: []part{tablePart("", "", s)}, checked: checked, lang: "csv", covers: []string{name + ".csv"}}
	}
	readingsPage := of("readings", "the log of the instrument, one row a placing", "Every placing of the densitometer: on the thumbed place of a page, on an untouched place of the same page (its zero), or on the instrument's reference tile. Nothing is ever struck out: a reading to be left out says why.", readings.ReadingsSchema())
	readingsPage.checked += " Each page that is measured needs a zero of the same day and instrument; days need readings of the tile where drift is to be followed."
	readingsPage.covers = []string{"readings*.csv", "sheet/readings-to-fill.csv"}
	tracesPage := of("traces", "one row a look at one thing", "What no instrument measures: what an observer saw of one trace, on a page or on a part of its picture. Exactly one of grade, count and present is filled, as the coding book in `study.toml` has the trace, or unclear with a reason. What nobody looked at has no row; where nothing is there the row says so (the lowest grade, 0, no).", traces.Schema())
	tracesPage.covers = []string{"traces*.csv", "sheet/traces-to-fill.csv"}
	return []*page{
		of("books", "one row a book", "The books of a study.", codex.BooksSchema()),
		of("leaves", "one row a leaf in physical order", "What each book is made of, lost leaves too. Order is that of the rows, which need not be that of the numbers.", codex.LeavesSchema()),
		of("pages", "one row a page of which there is something to say", "Pictures, blanks, decoration. Pages of which nothing is to be said may be left out."+own, codex.PagesSchema()),
		of("sections", "one row a text and where it stands", "The texts of each book: which pages, which office of which set of hours.", codex.SectionsSchema()),
		of("instruments", "one row a densitometer", "The instruments and their reference tiles.", readings.InstrumentsSchema()),
		readingsPage,
		tracesPage,
		of("paired", "spots that several instruments read", "Spots that two instruments or more read, one row a placing: the slope and the offset between them, and the conversion of readings from elsewhere (`converted_to` in the table of instruments). Spots that one instrument read twice tell how it repeats. Take them from several books, over all densities that are to be converted.", readings.PairedSchema()),
		{name: "schema", file: "*.schema.json", title: "what the columns of the table beside it are", use: "A Frictionless Table Schema (https://specs.frictionlessdata.io/table-schema/, version 1), an open standard that other programs read. It describes the table; the program's own schema is what counts when a table is checked. A scholar may say there what the further columns are, and a bundle takes that over.",
			form: jsonForm, by: "Written beside every table that the program writes.", lang: "json", covers: []string{"*.schema.json", "*/*.schema.json", "*/*/*.schema.json"}},
	}
}

// objectPages are the files in TOML and JSON.
func objectPages() []*page {
	const checked = "All problems are told at once, each with its line. A key that is not named here is a problem, so that no slip of the pen passes."
	var out []*page
	for _, o := range []struct {
		page
		shape reflect.Type
		lang  string
	}{
		{page{name: "study-toml", file: "study.toml", title: "a study", use: "Which tables to read, which models to fit, which questions to ask. Paths are from the folder of this file.",
			by: "Written by the scholar; read by `thumbed check`, `run`, `seal`, `bundle`.", checked: checked + " `thumbed check` also looks ahead to what a run would fail on.", covers: []string{"study.toml"}}, reflect.TypeFor[study.File](), "toml"},
		{page{name: "model-toml", file: "MODEL.toml", title: "one model for one table", use: "The same keys as a `[[model]]` of `study.toml` has.", by: "Written by the scholar; read by `thumbed fit`.", checked: checked}, reflect.TypeFor[mixed.Model](), "toml"},
		{page{name: "plan-toml", file: "PLAN.toml", title: "a campaign to be planned", use: "What the campaign is to answer, what is known of books and readings, and which numbers of books, pages and placings to try.", by: "Written by the scholar; read by `thumbed plan`.", checked: checked}, reflect.TypeFor[plan.File](), "toml"},
		{page{name: "corpus-toml", file: "corpus.toml", title: "a study over many books in folders", use: "Where the folders are, and what is asked of all of them.", by: "Written by the scholar; read by `thumbed corpus`, `check`, `seal`, `divide`.", checked: checked}, reflect.TypeFor[corpus.File](), "toml"},
		{page{name: "mapping-toml", file: "WORDS.toml", title: "the scholar's words in a spreadsheet", use: "How sheets, columns and cells of a spreadsheet are called in the tables of a study.", by: "Written by the scholar; read by `thumbed import sheet`.", checked: checked}, sheet.MappingShape, "toml"},
		{page{name: "deposit-toml", file: deposit.StatementName, title: "what a repository wants to know", use: "Licence, creators and words for a deposit. It stands beside `study.toml`, may be left out, and is no part of a run's inputs, so that it can be written when the results are there.", by: "Written by the scholar; read by `thumbed bundle`.", checked: checked, covers: []string{"deposit.toml"}}, reflect.TypeFor[deposit.Statement](), "toml"},

		{page{name: "results-json", file: "results/results.json", title: "every number of a run", use: "All that the page shows, at full precision, in an order that does not change. Its keys are a promise. A number that is not known is null, and `missing` says why.", by: "Written by `thumbed run` and `thumbed gather`; compared by `thumbed rerun`.", covers: []string{"results/results.json"}}, report.NumbersShape, "json"},
		{page{name: "record-json", file: "results/record.json", title: "what results were made from and by", use: "The inputs with their SHA-256, the seeds, the versions of the program and of every module, and every number. It holds nothing that depends on the clock. With it `thumbed rerun` makes the run again and compares all digits.", by: "Written beside all results; read by `thumbed rerun` and `thumbed bundle`, those of earlier versions too.", checked: "`thumbed rerun` and `thumbed bundle` look whether inputs and results are what was sealed.", covers: []string{"*/record.json"}}, reflect.TypeFor[study.Record](), "json"},
		{page{name: "corpus-results-json", file: "results/results.json", title: "every number of a run over a corpus", use: "As that of a study, book by book in brief. A number that is not known is null.", by: "Written by `thumbed corpus`; compared by `thumbed rerun`.", covers: []string{"corpus/results.json"}}, report.CorpusNumbersShape, "json"},
		{page{name: "plan-results-json", file: "plan/results.json", title: "every number of a plan", use: "What each design came to, and what was drawn from.", by: "Written by `thumbed plan`, and printed with `--json`; compared by `thumbed rerun`.", covers: []string{"plan/results.json"}}, report.PlanNumbersShape, "json"},
		{page{name: "seal-json", file: study.SealName, title: "questions and models sealed before the readings", use: "SHA-256 sums of what the study file said of each question and model, so that it can be shown later that nothing was changed. It is made once.", by: "Written by `thumbed seal`; read by `thumbed run`.", checked: "A run compares every question and model with its sum, and the days of the readings with that of the seal.", covers: []string{study.SealName}}, reflect.TypeFor[study.Seal](), "json"},
		{page{name: "part-json", file: "parts/*.json", title: "one part of divided work", use: "What one machine computed of work that was shared out.", by: "Written with `--part`; read by `thumbed gather`.", checked: "`thumbed gather` refuses parts of other work, of another version of the program, and of files that have changed since.", covers: []string{"parts/*.json"}}, reflect.TypeFor[portion.File](), "json"},
		{page{name: "fit-json", file: "standard output of thumbed fit --json", title: "a fitted model", use: "Its keys are a promise.", by: "Printed by `thumbed fit --json`; the same stands in `results.json` under `models[].fit`."}, reflect.TypeFor[mixed.Fit](), "json"},
		{page{name: "traces-fit-json", file: "standard output of thumbed fit --json", title: "a fitted model of grades, yes or no, or counts", use: "Its keys are a promise, those of a fitted model of a measure where both have them.", by: "Printed by `thumbed fit --json` for models whose kind is no measure."}, reflect.TypeFor[generalised.Fit](), "json"},
		{page{name: "changes-json", file: "standard output of thumbed changes --json", title: "changes of level along a series", use: "Its keys are a promise.", by: "Printed by `thumbed changes --json`; the same stands in `results.json` under `changes`."}, reflect.TypeFor[dropoff.Changes](), "json"},
		{page{name: "shaped-changes-json", file: "standard output of thumbed changes --of KIND --json", title: "changes of slope or scatter along a series", use: "For kinds of change other than of level.", by: "Printed by `thumbed changes --of KIND --json`."}, reflect.TypeFor[dropoff.Shaped](), "json"},
		{page{name: "rerun-json", file: "standard output of thumbed rerun --json", title: "a recorded run and what differs now", use: "First the inputs that changed, then the numbers that moved, then the answers that change.", by: "Printed by `thumbed rerun --json`."}, reflect.TypeFor[study.Rerun](), "json"},
		{page{name: "datapackage-json", file: deposit.PackageName, title: "what is in a bundle", use: "A Frictionless Data Package (https://specs.frictionlessdata.io/data-package/, version 1): every file with its size and SHA-256, every table with its schema.", by: "Written and read by `thumbed bundle`.", checked: "`thumbed bundle --check` compares every file with its sum, every table with its schema, and the record with both.", covers: []string{"bundle/datapackage.json"}}, deposit.PackageShape, "json"},
	} {
		o.page.shape, o.page.lang, o.form = o.shape, o.lang, jsonForm
		if o.lang == "toml" {
			o.form = tomlForm
		}
		out = append(out, &o.page)
	}
	return out
}

// sheetPages are the tables among results, all of one folder on one page.
func sheetPages() ([]*page, error) {
	ofStudy, err := report.StudySheets()
	if err != nil {
		return nil, err
	}
	of := func(name, file, title, by, covers string, sheets []report.SheetShape) *page {
		p := &page{name: name, file: file, title: title, form: csvForm, by: by, covers: []string{covers},
			use: "The numbers of the page as tables, each with its schema (`*.schema.json`) beside it. Numbers are written in the shortest form that reads back as the same number. Text is true to itself, so that a cell that begins with =, +, - or @ is a formula to a spreadsheet that opens a .csv: open `tables.xlsx` there, a typed workbook of all tables with up to 20,000 rows, in which text is text."}
		for _, s := range sheets {
			p.parts = append(p.parts, tablePart(s.Name+".csv", s.Title+".", s.Schema))
		}
		return p
	}
	pages := of("results-tables", "results/tables/*.csv", "the tables of a run", "Written by `thumbed run` and `thumbed gather`. The table `pages.csv` has the scholar's own columns of pages as well.", "results/tables/*.csv", ofStudy)
	return []*page{pages,
		of("corpus-tables", "results/tables/*.csv", "the tables of a run over a corpus", "Written by `thumbed corpus`.", "corpus/tables/*.csv", report.CorpusSheets()),
		of("plan-tables", "plan/tables/*.csv", "the table of a plan", "Written by `thumbed plan`.", "plan/tables/*.csv", report.PlanSheets()),
	}, nil
}

// folderPages are what else the program writes.
func folderPages() []*page {
	list := func(rows ...row) []part { return []part{{rows: rows}} }
	file := func(name, kind, about string) row { return row{name: name, kind: kind, about: about} }
	return []*page{
		{name: "results", file: "results/", title: "what a run leaves", use: "A folder of results appears whole or not at all, and is replaced only where an earlier run made it and nobody has changed a file in it since.", form: "a folder",
			by: "Written by `thumbed run`, `thumbed gather`, `thumbed corpus` and `thumbed plan` (which has no chapter).",
			parts: list(
				file("index.html", "HTML 5", "the page with answers, figures and tables; it needs no network"),
				file("figures/NAME.svg, .pdf, .png", "SVG, PDF with typefaces embedded, PNG", "each figure three times"),
				file("tables/NAME.csv", "CSV", "see `results-tables`"),
				file("tables/tables.xlsx", "Office Open XML", "all of them in one typed workbook, to open in a spreadsheet"),
				file("chapter/chapter.tex", "LaTeX", "a chapter to compile: it inputs all that follows"),
				file("chapter/preamble.tex", "LaTeX", "the packages that the tables and figures need"),
				file("chapter/methods.tex", "LaTeX", "the methods, as they were really used, with citations"),
				file("chapter/references.bib", "BibTeX", "the works that the methods cite"),
				file("chapter/tables/NAME.tex", "LaTeX (booktabs)", "each table with its caption"),
				file("chapter/figures/NAME.tex", "LaTeX", "each figure with its caption"),
				file("chapter/words/NAME.tex", "LaTeX", "the answers and remarks in sentences"),
				file("annotations/NAME.json", "JSON-LD", "see `annotations`; of books with images"),
				file("results.json", "JSON", "see `results-json`"),
				file("record.json", "JSON", "see `record-json`"),
			), covers: []string{"*/index.html", "*/figures/*.svg", "*/figures/*.pdf", "*/figures/*.png", "*/tables/tables.xlsx", "*/chapter/*.tex", "*/chapter/references.bib", "*/chapter/*/*.tex"}},
		{name: "annotations", file: "results/annotations/*.json", title: "the wear of a book on its images", use: "A Web Annotation Collection of each book for which `study.toml` names a manifest, and the same as Annotation Pages that a viewer of IIIF manifests shows on its canvases: W3C, Web Annotation Data Model, Recommendation, 2017; IIIF Presentation API 3.0, 2020. A manifest of version 2 must not hold annotations: it tells where they are, and NAME-lists/ has an annotation list for each canvas, to be put at your own address (Presentation API 2.1, sections 5.3 and 5.5).", form: "JSON-LD", by: "Written by `thumbed run`.",
			checked: "The project's tests hold it to the published specification.", covers: []string{"results/annotations/*.json"}},
		{name: "ro-crate-metadata-json", file: deposit.CrateName, title: "who made a bundle, and how", use: "An RO-Crate (https://w3id.org/ro/crate/1.1): the persons, books and instruments, the program, which files were made from which, the licence.", form: "JSON-LD in flattened and compacted form", by: "Written and read by `thumbed bundle`.",
			checked: "`thumbed bundle --check` holds it to the rules of the specification, and to the files of the bundle.", lang: "json", covers: []string{"bundle/ro-crate-metadata.json"}},
		{name: "bundle", file: "BUNDLE/ or BUNDLE.zip", title: "a study with its results for a repository", use: "A folder or a .zip that is at once a Frictionless Data Package and an RO-Crate. Files of the study and of its results stand in it as they are; the same study gives the same bytes.", form: "a folder, or a .zip with names in UTF-8", by: "Written by `thumbed bundle`; read with `--check`.",
			parts: list(
				file("README.txt", "text", "what it is and what can be done with it"),
				file("datapackage.json", "JSON", "see `datapackage-json`"),
				file("ro-crate-metadata.json", "JSON-LD", "see `ro-crate-metadata-json`"),
				file("datacite.json", "JSON", "the deposit in the words of the DataCite Metadata Schema 4.5, for a repository that registers a DOI"),
				file("CITATION.cff", "YAML", "how to cite it: Citation File Format 1.2.0"),
				file("sha256sums.txt", "text", "sums of all files: sha256sum -c sha256sums.txt"),
				file("study.toml and the tables that it names", "TOML, CSV", "in the folder study, where the study names tables above its own folder; else beside datapackage.json"),
				file("seal.json, deposit.toml", "JSON, TOML", "where the study has them"),
				file("results/", "a folder", "see `results`"),
			), checked: "`thumbed bundle --check` looks whether every file is what was bundled.", covers: []string{"bundle/README.txt", "bundle/CITATION.cff", "bundle/datacite.json", "bundle/sha256sums.txt", "*.zip"}},
		{name: "import-txt", file: "import.txt", title: "what an import used and left", use: "Line by line what was used of the file imported, as what, and what was left, and why.", form: "text", by: "Written by `thumbed import` beside the tables.", covers: []string{"import.txt"}},
		{name: "jobs", file: "jobs/", title: "scripts that compute in parts", use: "Scripts for this machine (`all.sh`), for a cluster with Slurm (`submit.sh`, `array.slurm`, `gather.slurm`), and for any other batch engine (`part.sh`, `gather.sh`); `README.txt` says how to begin, `settings.sh` names program and work.", form: "POSIX shell", by: "Written by `thumbed divide`.", covers: []string{"jobs/*"}},
		{name: "measuring-sheet", file: "sheet/readings-to-fill.csv, sheet/sheet.html", title: "the sheet to measure by", use: "The placings in the order in which they are to be taken: as a table of readings with empty densities (see `readings`), and as a page to print.", form: csvForm + "; HTML 5", by: "Written by `thumbed sheet`.", covers: []string{"sheet/sheet.html"}},
	}
}
