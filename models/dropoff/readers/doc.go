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
//   - each group comes out again when other readers are drawn from these
//     (Hennig 2007: the mean Jaccard similarity of a group to the most similar
//     one of a bootstrap sample);
//   - and when each curve is drawn again with its standard errors.
//
// # Map
//
//	shape.go      a curve relative to its own mean, with its errors
//	medoids.go    partitions around medoids
//	gap.go        how many groups
//	onekind.go    readers of one kind, as a comparison
//	stability.go  whether the groups come out again
//	group.go      the whole of it
//	words.go      … and what it says
//
// # How well it holds
//
// By simulation (TestSlowFalseGroups, with THUMBED_SLOW=1), in 1,800 sets of 20, 50
// and 120 readers of one kind, who differ in how steeply they fall away and are
// measured with small, middling and large errors, groups were claimed in 2.6 of
// 100, in no cell of the table more than 6.5. Two kinds that differ clearly are
// found among 60; among thousands the gap statistic alone sees more than there
// are, which their not coming out again mends.
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
