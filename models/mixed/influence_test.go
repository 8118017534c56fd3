package mixed_test

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// TestInfluence holds what leaving a group out does, by update, to true refits
// without the group, over models of every kind: fixed effects to a tenth of a
// standard error, and on average to a fiftieth; variances to a tenth of
// themselves where one group of eight or more goes (one Newton step is not the
// optimum).
func TestInfluence(t *testing.T) {
	for _, r := range loadReferences(t) {
		if r.Data == "InstEval.csv" {
			continue
		}
		t.Run(r.Name, func(t *testing.T) {
			m, data := parse(t, r.Model), loadTable(t, r.Data)
			fit := fitted(t, m, data)
			by := fit.Random[len(fit.Random)-1].By
			got, err := fit.Influence(context.Background(), by...)
			if err != nil {
				t.Fatal(err)
			}
			worst, total, count := 0.0, 0.0, 0
			for k, g := range got.Groups {
				if k >= 12 {
					break
				}
				rest := withoutGroup(data, by, g.Group)
				if data.Rows()-rest.Rows() != g.Rows {
					t.Fatalf("%s has %d rows, told %d", g.Group, data.Rows()-rest.Rows(), g.Rows)
				}
				want, err := m.Fit(rest)
				if err != nil {
					t.Fatal(err)
				}
				for j, c := range want.Fixed {
					shift := (c.Estimate - fit.Fixed[j].Estimate) / fit.Fixed[j].SE
					off := math.Abs(shift - g.Shift[j])
					worst, total, count = math.Max(worst, off), total+off, count+1
				}
				for j, p := range want.Parameters()[len(want.Fixed):] {
					value, before := g.Without[len(want.Fixed)+j], fit.Parameters()[len(want.Fixed)+j].Value
					if len(got.Groups) < 8 || p.Kind == mixed.GroupCorrelation || p.Kind == mixed.Autocorrelation || p.Value < 0.2*before {
						continue
					}
					near(t, g.Group+": "+p.Name, value, p.Value, 0.1, 0.1*fit.Residual.SD)
				}
			}
			t.Logf("shifts differ from those of refits by at most %.3f standard errors, on average by %.4f", worst, total/float64(count))
			if worst > 0.1 || total/float64(count) > 0.02 {
				t.Errorf("shifts differ from those of refits by at most %.3f standard errors, on average by %.4f", worst, total/float64(count))
			}
		})
	}
}

// withoutGroup are the rows outside a group.
func withoutGroup(data *table.Table, by []string, group string) *table.Table {
	var rows []int
	for i := range data.Rows() {
		var labels []string
		for _, name := range by {
			labels = append(labels, data.Column(name).Label(i))
		}
		if strings.Join(labels, " / ") != group {
			rows = append(rows, i)
		}
	}
	return data.Select(rows)
}

// TestInfluenceNotes: a book that carries an effect by itself is told, and one
// without which a level has no rows.
func TestInfluenceNotes(t *testing.T) {
	// one book far off the others, and one that alone has a kind of page
	data := simulate(31, 8, 40, 4, usualTruth)
	wear := data.Column("wear").Numbers
	picture := data.Column("picture")
	values, labels := make([]float64, len(wear)), make([]string, len(wear))
	for i, v := range wear {
		values[i], labels[i] = v, picture.Label(i)
		if data.Column("book").Label(i) == "book 3" {
			if picture.Label(i) == "yes" {
				values[i] += 6
			}
			if i%5 == 0 {
				labels[i] = "erased"
			}
		}
	}
	data = changed(data, "wear", func(*table.Column) *table.Column { return table.Numbers("wear", values) })
	fit := fitted(t, parse(t, "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"), data)
	got, err := fit.Influence(context.Background(), "book")
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Notes) == 0 || !strings.Contains(got.Notes[0], "book 3") || !strings.Contains(got.Notes[0], "picture=yes") {
		t.Errorf("notes %q", got.Notes)
	}
	data = changed(data, "picture", func(*table.Column) *table.Column { return table.Labels("picture", labels) })
	fit = fitted(t, parse(t, "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"), data)
	got, err = fit.Influence(context.Background(), "book")
	if err != nil {
		t.Fatal(err)
	}
	if g := got.Groups[2]; !strings.Contains(g.Note, "erased") || len(g.Shift) != 0 {
		t.Errorf("a group that alone has a level: %+v", g)
	}
	var b bytes.Buffer
	if err := got.Text(&b); err != nil || !strings.Contains(b.String(), "erased") {
		t.Errorf("text %q (%v)", b.String(), err)
	}
	if _, err := fit.Influence(context.Background(), "reader"); err == nil {
		t.Error("groups that no term has were taken")
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := fit.Influence(ctx, "book"); err == nil {
		t.Error("an ended context was not told")
	}
}
