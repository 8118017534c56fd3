// Package deposit answers: how is a whole study or corpus, with its data, its results and
// the record of how they came about, handed to a repository, and is what was
// received whole?
//
// A bundle is one folder or one .zip that is at once a Frictionless Data Package
// (https://specs.frictionlessdata.io/data-package/, version 1: every table with its
// schema, every file with its SHA-256) and an RO-Crate
// (https://w3id.org/ro/crate/1.1: people, books, instruments, software, and which
// files were made from which). Files of the study and of its results stand in it
// byte for byte, so that the run can be made again from it. The same study gives
// the same bytes wherever and whenever it is bundled.
package deposit
