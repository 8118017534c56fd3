package readings

import (
	"fmt"
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// Join appends the columns of [WearSchema] to the features of pages (see
// codex.Features; columns book and page are used), and leaves the table given
// as it is. Rows of pages without wear have no values. It fails where features
// has no such columns or has one of the wear columns already, and where a
// page with wear has no row.
func Join(features *table.Table, books []*codex.Book, r *Result) (*table.Table, error) {
	book, page := features.Column("book"), features.Column("page")
	if book == nil || page == nil {
		return nil, fmt.Errorf("the features have no columns book and page, by which wear is joined to them; make them with codex.Features")
	}
	rows := make(map[[2]string]int, features.Rows())
	for i := range features.Rows() {
		rows[[2]string{book.Label(i), page.Label(i)}] = i
	}
	number := map[string][]float64{}
	for _, name := range []string{"wear", "wear_se", "wear_df", "coverage", "coverage_se", "placings"} {
		values := make([]float64, features.Rows())
		for i := range values {
			values[i] = math.NaN()
		}
		number[name] = values
	}
	label := map[string][]string{"limit": make([]string, features.Rows())}
	for _, by := range sourceNames {
		label[by], label[by+"_offset"] = make([]string, features.Rows()), make([]string, features.Rows())
	}
	converted := slices.ContainsFunc(r.Shared, func(s Source) bool { return s.By == ByConversion })
	if converted {
		label[conversionField.Name] = make([]string, features.Rows())
	}
	for _, w := range r.Wear {
		key := [2]string{books[w.Book].ID, books[w.Book].Pages[w.Page].Label.String()}
		i, ok := rows[key]
		if !ok {
			return nil, fmt.Errorf("page %s of %s has wear but no row among the features; make them from the same books", key[1], key[0])
		}
		number["wear"][i], number["wear_se"][i], number["wear_df"][i] = w.Density, w.SE, w.DF
		number["coverage"][i], number["coverage_se"][i] = w.Coverage, w.CoverageSE
		number["placings"][i] = float64(w.Placings)
		label["limit"][i] = string(w.Limit)
		for _, by := range sourceNames {
			label[by][i], label[by+"_offset"][i] = w.who(by), r.Loads(&w, by)
		}
		if converted {
			label[conversionField.Name][i] = r.Loads(&w, ByConversion)
		}
	}
	joined, err := table.New(features.Columns()...)
	if err != nil {
		return nil, err
	}
	for _, field := range WearSchema().Fields {
		column := table.Numbers(field.Name, number[field.Name])
		if labels, is := label[field.Name]; is {
			column = table.Labels(field.Name, labels)
		}
		if err := joined.Add(column); err != nil {
			return nil, fmt.Errorf("the features cannot take the wear: %w; rename the scholar's own column", err)
		}
	}
	if converted {
		if err := joined.Add(table.Labels(conversionField.Name, label[conversionField.Name])); err != nil {
			return nil, fmt.Errorf("the features cannot take the errors of conversions: %w; rename the scholar's own column", err)
		}
	}
	return joined, nil
}

// conversionField describes the column that [Join] adds where readings were converted.
var conversionField = table.Field{Name: ByConversion + "_offset", Kind: table.String,
	Description: "the page's share in the error of a conversion's slope: the converted instrument, with the wear that was read by it over the slope"}

// JoinedSchema describes the columns of a table that [Join] gave.
func JoinedSchema(joined *table.Table) table.Schema {
	schema := codex.FeaturesSchema(joined)
	for _, wear := range append(WearSchema().Fields, conversionField) {
		for i := range schema.Fields {
			if schema.Fields[i].Name == wear.Name {
				schema.Fields[i] = wear
			}
		}
	}
	return schema
}
