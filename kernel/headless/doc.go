// Package headless answers: does this notebook still say what it said?
//
// It runs a notebook from its first cell to its last with nobody watching,
// through the Jupyter project's own client (nbclient), and compares every
// number that it shows with the one that the notebook showed before.
package headless
