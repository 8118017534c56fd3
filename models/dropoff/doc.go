// Package dropoff answers: where in the day's offices did the reader stop, and
// how sure is that?
//
// It finds changes in the level of wear along a series by exact segmentation,
// with an interval and a probability for each place, and gives the share of
// readings carried on to the end of the day.
package dropoff
