package study

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"thumbed/models/dropoff"
	"thumbed/models/study/demo"
	"thumbed/models/table"
)

// demoWith opens the demonstration with lines put under [measuring].
func demoWith(t *testing.T, measuring string) *Study {
	t.Helper()
	scenario, err := demo.Written()
	if err != nil {
		t.Fatal(err)
	}
	made, err := scenario.Make(1)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	made.Files[FileName] = bytes.Replace(made.Files[FileName], []byte("[measuring]\n"), []byte("[measuring]\n"+measuring), 1)
	if err := made.Fill(dir); err != nil {
		t.Fatal(err)
	}
	s, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// How often pages were handled is told by a stated calibration only: with one the last
// office's handling is −ln(1 − wear/0.9) over the first's, inside its interval; where an
// office comes to saturation it is refused; without one nothing of it is said.
func TestHandlingIsToldByACalibrationOnly(t *testing.T) {
	decline := func(measuring string) *dropoff.Decline {
		s := demoWith(t, measuring)
		wear, err := s.Wear()
		if err != nil {
			t.Fatal(err)
		}
		c, err := dropoff.SharesOf(s.Books, 0, Sets(s.Books[0])[0], wear.OfBook(0), s.among())
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	plain, told := decline(""), decline("saturation = 0.9\nsaturation_error = 0.05\nsaturation_source = \"a trial of 40 pages\"\n")
	if plain.Handling != nil || plain.HandlingSentence() != "" || plain.Offices[1].Handled != nil {
		t.Error("without a calibration something is told of handling")
	}
	first, last := told.Offices[0], told.Offices[len(told.Offices)-1]
	want := math.Log(1-last.Wear/0.9) / math.Log(1-first.Wear/0.9)
	if h := last.Handled; h == nil || math.Abs(h.Share-want) > 1e-12 || !(h.Low < want && want < h.High) {
		t.Errorf("handled %+v; by hand %.4f", h, want)
	}
	if text := told.HandlingSentence(); !strings.Contains(text, "By the stated calibration") || !strings.Contains(text, "a trial of 40 pages") {
		t.Error(text)
	}
	if c := decline("saturation = 0.12\nsaturation_error = 0.01\nsaturation_source = \"a trial\"\n"); !strings.Contains(c.HandlingSentence(), "cannot be told") {
		t.Errorf("at saturation it says %q", c.HandlingSentence())
	}
}

// A calibration without its source, its saturation or a usable error is told.
func TestProblemsOfACalibration(t *testing.T) {
	for lines, want := range map[string]string{
		"saturation = 0.9\n":                                                    "where the calibration comes from",
		"saturation = -1\nsaturation_source = \"x\"\n":                          "above 0 and below 10",
		"saturation_error = 0.1\n":                                              "the density at which the calibration saturates",
		"saturation = 0.9\nsaturation_error = 0.8\nsaturation_source = \"x\"\n": "at most half of it",
	} {
		var ps table.Problems
		parse(FileName, []byte(strings.Replace(wholeFile, "[measuring]\n", "[measuring]\n"+lines, 1)), &ps)
		if err := ps.Err(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want %q", lines, err, want)
		}
	}
}
