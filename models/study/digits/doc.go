// Package digits answers: do two results agree to the last digit, and where
// they do not, what moved, by how much, and does any answer change?
//
// Results are compared as the JSON that a run writes. Every number has a place,
// named by what it belongs to and not by where it stands, so that books and pages
// may come in another order.
package digits
