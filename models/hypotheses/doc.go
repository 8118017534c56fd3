// Package hypotheses answers: what does the model say to the scholar's
// question, and how sure is that?
//
// A question is a contrast of a model, asked in words, with a direction and the
// smallest effect that would matter. Its answer is yes, no or open, never more
// than the 95 % interval bears, and is adjusted for the other questions of its
// family. [Ask] puts one question to a fitted model, [Adjust] settles a family
// of answers, [Text] writes them. [CircularShift] answers a question once more without the
// model's standard error, by pushing the feature asked about round each book, and
// [Answer.Bootstrap] without Student's t, from outcomes drawn from the model.
//
// The answers speak of wear: it is evidence of handling, not of belief.
package hypotheses
