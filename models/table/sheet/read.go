package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"thumbed/models/table"
)

// Read reads every sheet of a spreadsheet, given as the bytes of the file; file
// names it in problems. The mapping may be nil. Sheets without a filled cell are
// left out. It gives nil with a problem where the file cannot be read; problems
// of single cells go to ps with the sheet and row, and leave the rest as read.
func Read(file string, data []byte, m *Mapping, ps *table.Problems) []Sheet {
	known := ps.Len()
	var grids []*grid
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		ps.Add(table.Problem{File: file, Line: 1, Expected: "a table", Remedy: "the file is empty: save it again"})
	case bytes.HasPrefix(data, []byte("PK")):
		grids = readArchive(file, data, ps)
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		ps.Add(table.Problem{File: file, Value: "an old or a locked workbook", Expected: ".xlsx without a password, .ods or .csv", Remedy: "open it and save it again as .xlsx, without a password"})
	case bytes.HasPrefix(data, []byte("%PDF-")):
		ps.Add(table.Problem{File: file, Value: "a PDF file", Expected: ".xlsx, .ods or .csv", Remedy: "name the spreadsheet that the PDF was made from"})
	default:
		if g := readText(file, data, m, ps); g != nil {
			g.name = strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
			grids = []*grid{g}
		}
	}
	var sheets []Sheet
	for _, g := range grids {
		if s := tabulate(file, g, m, ps); s != nil {
			sheets = append(sheets, *s)
		}
	}
	if sheets == nil && ps.Len() == known {
		ps.Add(table.Problem{File: file, Value: "no filled cell", Expected: "at least one sheet with a table", Remedy: "check that it is the right file"})
	}
	return sheets
}

// readArchive reads a workbook of either kind.
func readArchive(file string, data []byte, ps *table.Problems) []*grid {
	refuse := func(value, expected, remedy string) []*grid {
		ps.Add(table.Problem{File: file, Value: value, Expected: expected, Remedy: remedy})
		return nil
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return refuse("a damaged archive", "a workbook, .xlsx or .ods", fmt.Sprintf("save it again, or copy it anew (%v)", err))
	}
	if err := weigh(archive, int64(len(data))); err != nil {
		return refuse(err.Error(), fmt.Sprintf("a workbook of at most %d megabytes unpacked, in at most %d parts, and not %d times as large as packed", mostBytes>>20, mostFiles, mostGrowth), "check where the file comes from")
	}
	switch {
	case has(archive, "content.xml"):
		return readODS(file, archive, ps)
	case has(archive, "xl/workbook.xml"):
		return readXLSX(file, archive, ps)
	}
	return refuse("an archive of something else", "a workbook, .xlsx or .ods", "name the spreadsheet itself")
}

func has(archive *zip.Reader, name string) bool {
	for _, f := range archive.File {
		if strings.EqualFold(strings.ReplaceAll(f.Name, "\\", "/"), name) {
			return true
		}
	}
	return false
}

// weigh unpacks an archive of so many bytes into nothing, to see that it is not
// larger than it may be. What its directory says of sizes is not to be trusted.
func weigh(archive *zip.Reader, packed int64) error {
	if len(archive.File) > mostFiles {
		return fmt.Errorf("%d parts", len(archive.File))
	}
	most := min(mostBytes, max(anyBytes, mostGrowth*packed))
	left := most
	for _, f := range archive.File {
		part, err := f.Open()
		if err != nil {
			return fmt.Errorf("a part that cannot be unpacked (%q)", f.Name)
		}
		n, err := io.Copy(io.Discard, io.LimitReader(part, left+1))
		part.Close() // only read from
		if left -= n; left < 0 {
			return fmt.Errorf("more than %d megabytes in a file of %d bytes", most>>20, packed)
		}
		if err != nil {
			return fmt.Errorf("a damaged part (%q)", f.Name)
		}
	}
	return nil
}
