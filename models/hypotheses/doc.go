// Package hypotheses answers the scholar's questions: each is a contrast of a
// model, asked in words, with a direction and the smallest effect that would
// matter.
package hypotheses
