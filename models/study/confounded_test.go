package study_test

import (
	"strings"
	"testing"

	"thumbed/models/study"
	"thumbed/models/study/demo"
)

// Halves of a book measured by one observer each, on a day of their own, and no page
// again: check says so, with how many pages to measure again. With pages measured
// again, or a spread that the study states, it says nothing.
func TestCheckTellsWhatIsConfounded(t *testing.T) {
	scenario, err := demo.Written()
	must(t, err)
	halves := []demo.Day{
		{Date: "2026-03-09", Instrument: "bench", Observer: "HB", Books: []string{"Hendemaar"}, From: 0, To: 0.5},
		{Date: "2026-03-10", Instrument: "bench", Observer: "SV", Books: []string{"Hendemaar"}, From: 0.5, To: 1},
		{Date: "2026-05-04", Instrument: "bench", Observer: "HB", Books: []string{"Corvaes"}, Part: 1, Parts: 2},
		{Date: "2026-05-05", Instrument: "bench", Observer: "SV", Books: []string{"Corvaes"}, Part: 2, Parts: 2},
	}
	again := demo.Day{Date: "2026-05-06", Instrument: "bench", Observer: "HB", Books: []string{"Corvaes", "Hendemaar"}, Every: 20}
	said := func(days []demo.Day, stated string) string {
		scenario.Days = days
		made, err := scenario.Make(1)
		must(t, err)
		made.Files[study.FileName] = []byte(strings.Replace(string(made.Files[study.FileName]), "[measuring]\n", "[measuring]\n"+stated, 1))
		dir := t.TempDir()
		must(t, made.Fill(dir))
		s, err := study.Open(dir)
		must(t, err)
		confounded, err := s.Confounded()
		must(t, err)
		return strings.Join(confounded, "\n")
	}
	text := said(halves, "")
	for _, words := range []string{"half in Hendemaar", "what differs between books", "by two of the observers HB and SV", "on two of the days", "pages or more of each"} {
		if !strings.Contains(text, words) {
			t.Errorf("%q is not said in\n%s", words, text)
		}
	}
	if strings.Contains(text, "in Corvaes") {
		t.Errorf("the days of Corvaes are crossed with all of it, and yet:\n%s", text)
	}
	if text := said(append(halves, again), ""); text != "" {
		t.Errorf("with pages measured again it still says\n%s", text)
	}
	if text := said(halves, "day_spread = 0.01\nobserver_spread = 0.01\nspread_source = \"a pilot of 40 pages\"\n"); text != "" {
		t.Errorf("with stated spreads it still says\n%s", text)
	}
}
