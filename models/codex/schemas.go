package codex

import "thumbed/models/table"

// Columns of the tables on disk.
const (
	ColumnBook       = "book"
	ColumnTitle      = "title"
	ColumnShort      = "short"
	ColumnShelfmark  = "shelfmark"
	ColumnLibrary    = "library"
	ColumnLibraryID  = "library_id"
	ColumnOwner      = "owner"
	ColumnPlace      = "place"
	ColumnDate       = "date"
	ColumnMaterial   = "material"
	ColumnOuter      = "outer"
	ColumnLeaf       = "leaf"
	ColumnQuire      = "quire"
	ColumnState      = "state"
	ColumnConjugate  = "conjugate"
	ColumnRecto      = "recto"
	ColumnPage       = "page"
	ColumnPicture    = "picture"
	ColumnSubject    = "subject"
	ColumnDecoration = "decoration"
	ColumnBlank      = "blank"
	ColumnLanguage   = "language"
	ColumnSection    = "section"
	ColumnKind       = "kind"
	ColumnSet        = "set"
	ColumnOffice     = "office"
	ColumnExtent     = "extent"
	ColumnExtentBy   = "extent_by"
	ColumnIncipit    = "incipit"
)

// Words that the column state takes, and the column conjugate beside folio
// labels.
const (
	lostWord      = "lost"
	cancelledWord = "cancelled"
	singletonWord = "singleton"
	unknownWord   = "unknown"
)

// extentGrounds are what the end of a section is inferred by where nobody states
// it: the page where the next text begins, the end of the text that it is part of,
// the place of its last words, the last leaf of the book.
var extentGrounds = []string{ByNextText, ByWhole, ByExplicit, ByLastLeaf}

// Words that the column extent_by takes.
const (
	ByNextText = "next text"
	ByWhole    = "end of the whole"
	ByExplicit = "last words"
	ByLastLeaf = "last leaf"
)

var required = &table.Limits{Required: true}

// BooksSchema describes books.csv, one row a book.
func BooksSchema() table.Schema {
	return table.Schema{
		PrimaryKey: []string{ColumnBook},
		Fields: []table.Field{
			{Name: ColumnBook, Kind: table.String, Description: "short name of the book, used in all other tables", Constraints: required},
			{Name: ColumnTitle, Kind: table.String, Description: "the book as a caption names it, with its shelfmark"},
			{Name: ColumnShort, Kind: table.String, Description: "short form of its shelfmark or title, which figures, tables and sentences use after first mention; empty means the name in the column book"},
			{Name: ColumnShelfmark, Kind: table.String, Description: "the mark under which the library keeps it"},
			{Name: ColumnLibrary, Kind: table.String, Description: "the library that keeps it"},
			{Name: ColumnLibraryID, Kind: table.String, Description: "web address of the library in a register of them, such as https://ror.org/…"},
			{Name: ColumnOwner, Kind: table.String, Description: "who owned and used it"},
			{Name: ColumnPlace, Kind: table.String, Description: "where it was made or used"},
			{Name: ColumnDate, Kind: table.String, Description: "when it was made, in words"},
			{Name: ColumnMaterial, Kind: table.String, Description: "what its leaves are", Constraints: &table.Limits{Enum: []string{"parchment", "paper"}}},
			{Name: ColumnOuter, Kind: table.String, Description: "side of the skin on the outside of each quire; empty where not known", Constraints: &table.Limits{Enum: []string{Hair, Flesh}}},
		},
	}
}

// LeavesSchema describes leaves.csv, one row a leaf in physical order, lost
// leaves too.
func LeavesSchema() table.Schema {
	return table.Schema{
		Fields: []table.Field{
			{Name: ColumnBook, Kind: table.String, Description: "the book, as in books.csv", Constraints: required},
			{Name: ColumnLeaf, Kind: table.String, Description: "folio label such as 12, [13], 13bis, 200a or ii; may be empty for a lost leaf, and is for a cancelled one"},
			{Name: ColumnQuire, Kind: table.String, Description: "label of the quire; empty where not known"},
			{Name: ColumnState, Kind: table.String, Description: "whether the leaf is still there; cancelled is a leaf cut out when the book was made, which no reader turned; empty means present", Constraints: &table.Limits{Enum: []string{"present", lostWord, cancelledWord}}},
			{Name: ColumnConjugate, Kind: table.String, Description: "folio label of the other half of the sheet, or singleton, or unknown; empty means by position in the quire: first with last, singletons left out"},
			{Name: ColumnRecto, Kind: table.String, Description: "side of the skin that the recto is, where seen; empty means by Gregory's rule from the quire's outer side", Constraints: &table.Limits{Enum: []string{Hair, Flesh}}},
		},
	}
}

// PagesSchema describes pages.csv, one row a page of which there is something
// to say.
func PagesSchema() table.Schema {
	return table.Schema{
		Fields: []table.Field{
			{Name: ColumnBook, Kind: table.String, Description: "the book, as in books.csv", Constraints: required},
			{Name: ColumnPage, Kind: table.String, Description: "page label such as 12r", Constraints: required},
			{Name: ColumnPicture, Kind: table.Boolean, Description: "whether a picture is on the page; empty means no"},
			{Name: ColumnSubject, Kind: table.String, Description: "what the picture shows"},
			{Name: ColumnDecoration, Kind: table.String, Description: "kind of decoration, in the scholar's words"},
			{Name: ColumnBlank, Kind: table.Boolean, Description: "whether nothing is written or painted on the page; empty means no"},
			{Name: ColumnLanguage, Kind: table.String, Description: "language of the page; empty means its section's"},
		},
	}
}

// SectionsSchema describes sections.csv, one row a text.
func SectionsSchema() table.Schema {
	return table.Schema{
		Fields: []table.Field{
			{Name: ColumnBook, Kind: table.String, Description: "the book, as in books.csv", Constraints: required},
			{Name: ColumnSection, Kind: table.String, Description: "name of the section", Constraints: required},
			{Name: ColumnKind, Kind: table.String, Description: "calendar, lessons, hours, psalms, litany, office of the dead, suffrage, prayer or another", Constraints: required},
			{Name: ColumnSet, Kind: table.String, Description: "which set of hours, such as of the Virgin; empty outside the hours"},
			{Name: ColumnOffice, Kind: table.String, Description: "office of the day, Matins to Compline or in Latin; empty outside the hours"},
			{Name: ColumnExtent, Kind: table.String, Description: "where it stands, such as ff. 13r–25v, or ff. 13r–25v, 30r", Constraints: required},
			{Name: ColumnExtentBy, Kind: table.String, Description: "by what the end of the extent was inferred, where the record does not state it; empty means that it is stated", Constraints: &table.Limits{Enum: extentGrounds}},
			{Name: ColumnIncipit, Kind: table.String, Description: "opening words"},
			{Name: ColumnLanguage, Kind: table.String, Description: "language of the section"},
		},
	}
}
