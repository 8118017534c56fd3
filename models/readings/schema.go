package readings

import "thumbed/models/table"

func bound(v float64) *float64 { return &v }

// mostTried is the largest number of spots that a row may claim to be the
// darkest of; more is surely a slip of the pen.
const mostTried = 1000

// InstrumentsSchema describes instruments.csv: one row a densitometer.
func InstrumentsSchema() table.Schema {
	return table.Schema{
		PrimaryKey: []string{"instrument"},
		Fields: []table.Field{
			{Name: "instrument", Kind: table.String, Title: "Instrument",
				Description: "the name by which the readings call this densitometer",
				Constraints: &table.Limits{Required: true}},
			{Name: "floor", Kind: table.Number, Title: "Floor (density)",
				Description: "the lowest density it can show; readings at it are kept as limits",
				Constraints: &table.Limits{Required: true, Minimum: bound(-1), Maximum: bound(10)}},
			{Name: "ceiling", Kind: table.Number, Title: "Ceiling (density)",
				Description: "the highest density it can show; readings at it are kept as limits",
				Constraints: &table.Limits{Required: true, Minimum: bound(-1), Maximum: bound(10)}},
			{Name: "resolution", Kind: table.Number, Title: "Resolution (density)",
				Description: "the step of its last digit, such as 0.01",
				Constraints: &table.Limits{Required: true}},
			{Name: "tile", Kind: table.Number, Title: "Certified density of the reference tile",
				Description: "the density on the tile's certificate; empty where there is no tile"},
			{Name: "stated_sd", Kind: table.Number, Title: "Stated error of one reading (density)",
				Description: "for readings that come from elsewhere, such as densities computed from calibrated photographs: the standard deviation of one, as their source states it; empty where the log tells",
				Constraints: &table.Limits{Minimum: bound(0), Maximum: bound(1)}},
			{Name: "converted_to", Kind: table.String, Title: "Converted to",
				Description: "the instrument to whose scale its readings are converted, by the table of paired readings; empty where they are not"},
		},
	}
}

// ReadingsSchema describes a file of readings: one row a placing of the
// instrument.
func ReadingsSchema() table.Schema {
	return table.Schema{
		Fields: []table.Field{
			{Name: "book", Kind: table.String, Title: "Book",
				Description: "the book's id in books.csv; empty on a tile"},
			{Name: "page", Kind: table.String, Title: "Page",
				Description: "folio and side, such as 12r; empty on a tile"},
			{Name: "date", Kind: table.Date, Title: "Date",
				Description: "the measuring day, such as 2026-03-09", Constraints: &table.Limits{Required: true}},
			{Name: "time", Kind: table.Time, Title: "Time of day",
				Description: "when it was read, such as 14:05; drift is followed along it",
				Constraints: &table.Limits{Required: true}},
			{Name: "instrument", Kind: table.String, Title: "Instrument",
				Description: "its name in instruments.csv", Constraints: &table.Limits{Required: true}},
			{Name: "observer", Kind: table.String, Title: "Observer",
				Description: "who placed the instrument"},
			{Name: "target", Kind: table.String, Title: "Target",
				Description: "page (the thumbed place), zero (an untouched place of the same page) or tile",
				Constraints: &table.Limits{Required: true, Enum: []string{string(OnPage), string(OnZero), string(OnTile)}}},
			{Name: "spot", Kind: table.String, Title: "Spot",
				Description: "fixed (an agreed place) or darkest (the darkest of those tried); only on a page",
				Constraints: &table.Limits{Enum: []string{string(Fixed), string(darkestSpot)}}},
			{Name: "tried", Kind: table.Integer, Title: "Spots tried",
				Description: "how many spots were tried of which this row is the darkest; empty is 1",
				Constraints: &table.Limits{Minimum: bound(1), Maximum: bound(mostTried)}},
			{Name: "density", Kind: table.Number, Title: "Density",
				Description: "−log10 of the reflectance factor (ISO 5-3, ISO 5-4), as shown; empty only where the reading failed and excluded says why"},
			{Name: "excluded", Kind: table.String, Title: "Reason for exclusion",
				Description: "why the reading is left out, in words; empty where it is kept"},
			{Name: "note", Kind: table.String, Title: "Note", Description: "anything else"},
		},
	}
}

// WearSchema describes the columns that [Join] appends to the features of
// pages. Pages that were not measured have none of them.
func WearSchema() table.Schema {
	return table.Schema{
		Fields: []table.Field{
			{Name: "wear", Kind: table.Number, Title: "Wear (density)",
				Description: "density of the thumbed place over the page's own zero; where limit is set, a bound"},
			{Name: "wear_se", Kind: table.Number, Title: "Standard error of wear (density)",
				Description: "from pooled repeatability, drift and spots; where limit is set, that of the bound"},
			{Name: "wear_df", Kind: table.Number, Title: "Degrees of freedom of the standard error",
				Description: "Satterthwaite's approximation where several sources meet"},
			{Name: "limit", Kind: table.String, Title: "Limit",
				Description: "below: wear is at most the value; above: at least; empty: measured",
				Constraints: &table.Limits{Enum: []string{string(Below), string(Above)}}},
			{Name: "coverage", Kind: table.Number, Title: "Area coverage",
				Description: "share of the area covered by solid deposit (Murray–Davies), 0 to 1",
				Constraints: &table.Limits{Minimum: bound(0), Maximum: bound(1)}},
			{Name: "coverage_se", Kind: table.Number, Title: "Standard error of area coverage",
				Description: "by the delta method from that of wear"},
			{Name: "placings", Kind: table.Integer, Title: "Placings",
				Description: "rows of the log on the thumbed place that the value rests on"},
			{Name: "day", Kind: table.String, Title: "Day",
				Description: "when it was measured; where more than once, each with its weight, such as 2026-03-09 × 0.6 + 2026-05-06 × 0.4"},
			{Name: "observer", Kind: table.String, Title: "Observer", Description: "who measured it, in the same form"},
			{Name: "instrument", Kind: table.String, Title: "Instrument", Description: "with what it was measured, in the same form"},
			{Name: "day_offset", Kind: table.String, Title: "Loadings on errors of days",
				Description: "independent errors that pages share, each with its weight: what stays unknown of what the days read too high; a model takes them by residual.offsets"},
			{Name: "observer_offset", Kind: table.String, Title: "Loadings on errors of observers", Description: "the same of observers"},
			{Name: "instrument_offset", Kind: table.String, Title: "Loadings on errors of instruments", Description: "the same of instruments"},
		},
	}
}
