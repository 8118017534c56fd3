package digits_test

import (
	"fmt"
	"strings"
	"testing"

	"thumbed/models/study/digits"
)

const recorded = `{"program":"p 1","answers":[
 {"question":{"words":"A?"},"book":"Ant","effect":{"estimate":0.25,"se":0.1},"verdict":"yes"},
 {"question":{"words":"A?"},"book":"Bee","effect":{"estimate":0.5,"se":0.1},"verdict":"no"}],
 "books":[{"id":"Ant","wear":[{"page":"1r","wear":0.1},{"page":"1v","wear":null}]},{"id":"Bee","curve":[1,2,3]}],
 "missing":[{"at":"books[0]","why":"x"}]}`

func compare(t *testing.T, now string, loosely bool) *digits.Comparison {
	t.Helper()
	c, err := digits.Compare([]byte(recorded), []byte(now), loosely)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestTheSameAgrees(t *testing.T) {
	c := compare(t, strings.Replace(recorded, "p 1", "p 2", 1), false)
	if !c.Agree() || c.Compared != 9 || len(c.Words)+len(c.New) > 0 {
		t.Errorf("the same gives %+v", c)
	}
}

// TestAnotherOrderAgrees gives books and answers in the other order.
func TestAnotherOrderAgrees(t *testing.T) {
	c := compare(t, `{"books":[{"id":"Bee","curve":[1,2,3]},{"id":"Ant","wear":[{"page":"1v","wear":null},{"page":"1r","wear":1e-1}]}],
 "answers":[{"question":{"words":"A?"},"book":"Bee","effect":{"estimate":0.5,"se":0.1},"verdict":"no"},
 {"question":{"words":"A?"},"book":"Ant","effect":{"estimate":0.25,"se":0.1},"verdict":"yes"}]}`, false)
	if !c.Agree() || c.Compared != 9 {
		t.Errorf("another order gives %+v", c)
	}
}

func TestWhatMovedIsNamed(t *testing.T) {
	for what, one := range map[string]struct{ old, new, place string }{
		"a number":              {`0.25,`, `0.26,`, "answers › A?, Ant › effect › estimate"},
		"a last digit":          {`0.25,`, `0.25000000000000006,`, "answers › A?, Ant › effect › estimate"},
		"one no longer known":   {`"wear":0.1`, `"wear":null`, "books › Ant › wear › 1r › wear"},
		"one that became known": {`"wear":null`, `"wear":0.3`, "books › Ant › wear › 1v › wear"},
		"one of a list":         {`[1,2,3]`, `[1,4,3]`, "books › Bee › curve › 2"},
	} {
		c := compare(t, strings.Replace(recorded, one.old, one.new, 1), false)
		if c.Agree() || len(c.Moved) != 1 || c.Moved[0].Place != one.place || c.Moved[0].From == c.Moved[0].To {
			t.Errorf("%s gives %+v; want a move at %s", what, c, one.place)
		}
	}
	c := compare(t, strings.Replace(recorded, "0.25,", "0.5,", 1), false)
	if by := c.Moved[0].By; by == nil || *by != 0.25 {
		t.Errorf("0.25 to 0.5 moves by %v", by)
	}
}

func TestAnAnswerThatChangesIsTold(t *testing.T) {
	c := compare(t, strings.Replace(recorded, `"verdict":"no"`, `"verdict":"open"`, 1), false)
	if c.Agree() || len(c.Verdicts) != 1 || c.Verdicts[0].To != "open" || !strings.Contains(c.Verdicts[0].Place, "A?, Bee") {
		t.Errorf("a changed answer gives %+v", c)
	}
}

func TestWhatIsGoneAndWhatIsNew(t *testing.T) {
	c := compare(t, strings.Replace(recorded, `{"page":"1r","wear":0.1},`, ``, 1), false)
	if c.Agree() || len(c.Gone) != 1 || c.Gone[0] != "books › Ant › wear › 1r › wear" {
		t.Errorf("a page gone gives %+v", c)
	}
	c = compare(t, strings.Replace(recorded, `[1,2,3]`, `[1,2,3,4]`, 1), false)
	if !c.Agree() || len(c.New) != 1 {
		t.Errorf("a number more gives %+v; what was recorded agrees", c)
	}
}

// TestPrintedDigitsForgiveALastBit compares as between processor families.
func TestPrintedDigitsForgiveALastBit(t *testing.T) {
	c := compare(t, strings.Replace(recorded, "0.25,", "0.25000000000000006,", 1), true)
	if !c.Agree() || c.LastBits != 1 {
		t.Errorf("a last bit gives %+v", c)
	}
	c = compare(t, strings.Replace(recorded, "0.25,", "0.2500001,", 1), true)
	if c.Agree() {
		t.Errorf("a move in the seventh digit gives %+v", c)
	}
}

// TestStandardErrorsTellWhatCounts moves numbers that are small beside their
// standard errors: one of its own name, of its thing, or of the same place in a
// list.
func TestStandardErrorsTellWhatCounts(t *testing.T) {
	for _, text := range []string{
		`{"estimate":%s,"se":1}`, `{"wear":%s,"wear_se":1,"se":1e-9}`, `{"low":%s,"se":1}`, `{"wear_low":%s,"wear_se":1}`,
		`{"estimate":[3,%s],"se":[1e-9,1]}`,
	} {
		for now, agrees := range map[string]bool{"0.00001005": true, "0.0000105": false} {
			c, err := digits.Compare([]byte(fmt.Sprintf(text, "0.00001")), []byte(fmt.Sprintf(text, now)), true)
			if err != nil || c.Agree() != agrees {
				t.Errorf("%s: 0.00001 and %s agree: %v (%v); want %v", text, now, c.Agree(), err, agrees)
			}
		}
	}
	c, err := digits.Compare([]byte(`{"estimate":0.00001,"df":2}`), []byte(`{"estimate":0.00001005,"df":2}`), true)
	if err != nil || c.Agree() {
		t.Errorf("without a standard error a move of 5 in 1,000 gives %+v, %v", c, err)
	}
}

func FuzzCompare(f *testing.F) {
	f.Add([]byte(recorded), []byte(`{}`))
	f.Add([]byte(`[1,[2,{"id":3}]]`), []byte(`[1e400, "x", null, true]`))
	f.Fuzz(func(t *testing.T, a, b []byte) {
		c, err := digits.Compare(a, a, false)
		if err == nil && !c.Agree() {
			t.Errorf("%q does not agree with itself: %+v", a, c)
		}
		if _, err := digits.Compare(a, b, true); err != nil {
			return // said in words
		}
	})
}
