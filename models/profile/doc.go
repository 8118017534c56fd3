// Package profile answers: which parts of this book were read, and which of
// its pages attract handling?
//
// It draws the wear curve of one book along its physical pages, a smooth and a
// level of each section, with an interval; gives the area under the wear by
// section; and picks out the pages that stand above their own section's level
// at a stated false-discovery rate. [Of] gives all three; each file holds one of
// them and says how it is done. The curve begins in curve.go, its model stands
// in smooth.go, its equations in system.go and skyline.go.
package profile
