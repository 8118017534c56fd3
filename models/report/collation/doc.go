// Package collation answers: how do the leaves of a book hang together?
//
// It draws each quire with its sheets folded into each other, lost and added
// leaves, pictures, and the hair side of the skin where it is known. A book made
// of a collation formula ([codex.ParseFormula], [codex.Formula.Leaves]) is drawn
// like any other; [OfFormula] does both.
package collation
