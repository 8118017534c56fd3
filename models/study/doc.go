// Package study answers: what does this whole study find?
//
// It reads the study file and its tables, checks all of them, and runs the
// study from readings to [report.Results], the same on every run.
package study

import _ "thumbed/models/report"
