// Package tei answers: what does a library's catalogue record, written in TEI,
// say of a book that a study can use?
//
// It reads manuscript descriptions as chapter 11 of the TEI P5 Guidelines has
// them (Text Encoding Initiative Consortium, “Manuscript Description”): msDesc
// with its contents (msItem, however deeply nested, with one locus or several,
// in attributes or in words), physical description (extent, foliation,
// collation, material), decoration (decoNote) and history. Elements are known
// by their names in any namespace, so that records of earlier versions are read
// as far as their elements are the same.
//
// A record is only ever read from the file that is given. Nothing is fetched, of
// the entities that the file declares those alone are expanded that stand for plain
// text, and a file that is too large, too deep or no XML is refused with the place
// where that shows.
package tei
