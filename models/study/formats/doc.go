// Package formats answers: what stands in each file that the program reads or
// writes?
//
// A page for every kind of file is generated from what the code itself says of it:
// the schemas of tables, the structs of files in TOML and JSON with the comments on
// their fields (see [keys.Of]), and examples that the program wrote. The pages stand
// in the folder pages; a test makes them anew and compares. Renew them, where a
// change is meant, with
//
//	THUMBED_FORMATS=keep go test ./models/study/formats
package formats
