// Package study answers: what does this whole study find, was it foreseen, does
// it hold with other choices, and does it come out again?
//
// It reads the study file and its tables, checks all of them, and runs the
// study from readings to [report.Results], the same on every run. [Study.Write]
// puts the results into a folder, whole or not at all, with a [Record] of what
// they were made from; [Repeat] makes a recorded run again and compares;
// [WriteSeal] seals questions and models before the readings are taken.
package study
