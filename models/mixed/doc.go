// Package mixed answers: what is the effect of each feature of a page on its
// wear, once the book, the quire and the other features are allowed for?
//
// It fits linear mixed models by profiled, penalised least squares.
package mixed
