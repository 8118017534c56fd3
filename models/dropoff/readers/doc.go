// Package readers answers: do readers fall into groups by the shape of their
// curves, and would the same groups come out again?
//
// A reader's curve is the wear of the offices of one set of hours in one book;
// its shape is that curve relative to its own mean, so that a much read book and
// a little read one can have the same shape ([ShapeOf]). [Group] parts the shapes
// around medoids, so that each group has a book that stands for it, and says
// whether the parting is more than chance. Four things have to agree before it
// says yes:
//
//   - the gap statistic (Tibshirani, Walther and Hastie 2001) finds more than one
//     group;
//   - readers of one kind, who differ smoothly and are measured with these very
//     errors, seldom part as clearly (after Liu, Hayes, Nobel and Marron 2008);
//   - between any two groups there is a gap, where readers are less than half as dense
//     as at the smaller peak, and readers without one seldom show one (after Silverman
//     1981);
//   - each group comes out again when other readers are drawn from these
//     (Hennig 2007: the mean Jaccard similarity of a group to the most similar
//     one of a bootstrap sample);
//   - and when each curve is drawn again with its standard errors.
//
// Where it says no, readers differ by degrees: [Continuum] has the axis along which
// they differ most, and each [Member] a place on it with its interval.
//
// # Map
//
//	shape.go      a curve relative to its own mean, with its errors
//	medoids.go    partitions around medoids
//	gap.go        how many groups
//	onecluster.go readers of one kind, as a comparison
//	modes.go      gaps between kinds
//	continuum.go  the axis along which readers differ by degrees
//	stability.go  whether the groups come out again
//	group.go      the whole of it
//	words.go      … and what it says
//
// # How well it holds
//
// CONTINUA.md holds how often kinds are claimed among readers who differ by degrees,
// spread evenly, askew, towards both ends, along a bent way, and measured with unequal
// errors, and how well two kinds that differ clearly are found. Among thousands the gap
// statistic alone sees more than there are, which gaps and their not coming out again
// mend.
//
// # Speed
//
// Clouds of up to 250 readers are parted exactly, larger ones by samples: on two
// cores of 2026 a hundred readers take half a second and 5,000 some six.
//
// # Seeds
//
// Everything drawn belongs to a numbered draw of its own, and readers are taken
// in the order of their names: the result depends neither on the number of
// processors nor on the order in which readers are given.
package readers
