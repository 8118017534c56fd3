package table_test

import (
	"testing"

	"thumbed/models/table"
)

func TestNearest(t *testing.T) {
	offices := []string{"Matins", "Lauds", "Prime", "Terce", "Sext", "None", "Vespers", "Compline"}
	for word, want := range map[string]string{
		"matins": "Matins", "Matin": "Matins", "Vespres": "Vespers", "Complin": "Compline", "Laud": "Lauds",
		"None": "None", "Non": "None", "Dirige": "", "": "", "x": "", "Terces": "Terce", "Sex": "Sext", "Compilne": "Compline", "Luads": "Lauds", "Nnoe": "None", "hazle": "",
	} {
		if got := table.Nearest(word, offices); got != want {
			t.Errorf("nearest to %q is %q, not %q", word, got, want)
		}
	}
	if got := table.Nearest("kitten", []string{"sitting"}); got != "" {
		t.Errorf("kitten and sitting are 3 apart slips (the usual example), more than a third of 6 letters; got %q", got)
	}
	if got := table.Nearest("hazle", []string{"rowan", "hazel"}); got != "hazel" {
		t.Errorf("two letters that changed places are one slip; got %q", got)
	}
	if got := table.Nearest("kittens", []string{"sittens", "kitten"}); got != "sittens" {
		t.Errorf("of equals the first is taken; got %q", got)
	}
}
