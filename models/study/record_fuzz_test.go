package study

import (
	"testing"

	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study/digits"
)

// FuzzRecord wants that a record reads or is refused with its path, and that one
// which reads can be compared with itself.
func FuzzRecord(f *testing.F) {
	f.Add([]byte(`{"kind":"record of a thumbed run","version":2,"study":"../study.toml","inputs":[{"path":"study.toml","sha256":"x"}],"outputs":[],"results":{"answers":[{"p":0.25}]}}`))
	f.Add([]byte(`{"kind":"record of a thumbed run","kind":"x","version":1e3}`))
	f.Add([]byte(`{"kind":"record of a thumbed plan","version":1,"inputs":null,"results":null}`))
	f.Add([]byte(`{"version":{"version":[[[[]]]]}}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := ParseRecord("record.json", text)
		if err != nil {
			return
		}
		r.buildDifferences(ThisBuild())
		if len(r.Results) > 0 {
			if c, err := digits.Compare(r.Results, r.Results, false); err == nil && !c.Agree() {
				t.Errorf("%q does not agree with itself", r.Results)
			}
		}
	})
}

// FuzzSeal wants that a seal reads or is refused, and that one which reads can
// be held against a study.
func FuzzSeal(f *testing.F) {
	f.Add([]byte(`{"kind":"seal of a thumbed study","version":1,"sealed":"2026-03-01T10:00:00Z","day":"2026-03-01","questions":[{"name":"W?","sha256":"x"}]}`))
	f.Add([]byte(`{"kind":"seal of a thumbed study","version":1,"day":"yesterday","questions":null,"readings":[{"rows":-1}]}`))
	f.Add([]byte(`[]`))
	f.Fuzz(func(t *testing.T, text []byte) {
		seal, err := parseSeal("seal.json", text)
		if (seal == nil) == (err == nil) {
			t.Fatalf("%v and %v", seal, err)
		}
		if err != nil {
			return
		}
		s := &Study{seal: seal, text: []byte(wholeFile), Log: &readings.Log{}}
		if err := s.foresee(&report.Results{}); err != nil {
			t.Error(err)
		}
	})
}
