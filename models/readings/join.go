package readings

import (
	"fmt"
	"math"

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
	fields := WearSchema().Fields
	var sources []string // of errors that only some studies have
	for _, source := range r.Shared {
		if field, has := ownField[source.By]; has && label[field.Name] == nil {
			sources, fields = append(sources, source.By), append(fields, field)
			label[field.Name] = make([]string, features.Rows())
		}
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
		for _, by := range sources {
			label[ownField[by].Name][i] = r.Loads(&w, by)
		}
	}
	joined, err := table.New(features.Columns()...)
	if err != nil {
		return nil, err
	}
	for _, field := range fields {
		column := table.Numbers(field.Name, number[field.Name])
		if labels, is := label[field.Name]; is {
			column = table.Labels(field.Name, labels)
		}
		if err := joined.Add(column); err != nil {
			return nil, fmt.Errorf("the features cannot take the wear: %w; rename the scholar's own column", err)
		}
	}
	return joined, nil
}

// ownField describes the columns that [Join] adds where readings were converted, or
// drift was corrected as either.
var ownField = map[string]table.Field{
	ByConversion: {Name: ByConversion + "_offset", Kind: table.String,
		Description: "the page's share in the error of a conversion's slope: the converted instrument, with the wear that was read by it over the slope"},
	ByDrift: {Name: ByDrift + "_offset", Kind: table.String,
		Description: "the page's share in what is not known of the drift that was subtracted: the day and instrument, with what wear would change by were the drift wholly one of scale and not an offset, density"},
}

// JoinedSchema describes the columns of a table that [Join] gave.
func JoinedSchema(joined *table.Table) table.Schema {
	schema := codex.FeaturesSchema(joined)
	for _, wear := range append(WearSchema().Fields, ownField[ByConversion], ownField[ByDrift]) {
		for i := range schema.Fields {
			if schema.Fields[i].Name == wear.Name {
				schema.Fields[i] = wear
			}
		}
	}
	return schema
}
