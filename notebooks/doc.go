// Package notebooks answers: what does the work look like, step by step?
//
// It holds the worked notebooks, on the invented study in testdata/demo and the
// invented record in testdata/walk, with
// what their cells show; its tests run them anew and hold every number.
package notebooks
