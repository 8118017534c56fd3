package hypotheses

import "thumbed/models/mixed"

// A Question is asked in words and of a model.
type Question struct {
	Words     string             `toml:"words" json:"words"`
	Model     string             `toml:"model" json:"model"`                             // name of the model
	Contrast  map[string]float64 `toml:"contrast" json:"contrast"`                       // weights by the names of fixed-effect terms
	Direction string             `toml:"direction,omitempty" json:"direction,omitempty"` // "more", "less" or "either"
	Smallest  float64            `toml:"smallest,omitempty" json:"smallest,omitempty"`   // smallest effect that would matter, in the outcome's unit; 0: not stated
	Asked     string             `toml:"asked,omitempty" json:"asked,omitempty"`         // "before" or "after" seeing the data
	Family    string             `toml:"family,omitempty" json:"family,omitempty"`
}

// An Answer is a question with what the model says to it.
type Answer struct {
	Question Question          `json:"question"`
	Book     string            `json:"book,omitempty"` // where the model is fitted book by book
	Effect   mixed.Coefficient `json:"effect"`
	Adjusted float64           `json:"adjusted"` // P after adjustment over the family (Holm)
	Verdict  string            `json:"verdict"`  // "yes", "no", "open": see Sentence
	Sentence string            `json:"sentence"` // the answer in words with its interval
}

// The functions this room must give:
//
//	Ask(q Question, fit *mixed.Fit) (Answer, error)
//	Adjust(answers []Answer)          Holm (1979) within each family, then verdicts and sentences
//	FalseDiscovery(p []float64) []float64     Benjamini and Hochberg (1995)
//	Holm(p []float64) []float64
