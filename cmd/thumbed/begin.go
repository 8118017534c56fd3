package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/study/draft"
	"thumbed/models/study/folder"
	"thumbed/models/study/intake"
	"thumbed/models/table"
)

func init() { register(newBeginCommand) }

func newBeginCommand() *cobra.Command {
	var title string
	cmd := &cobra.Command{
		Use:   "begin DIR [--title WORDS]",
		Short: "Write a study file for the tables in a folder",
		Long: `Writes study.toml into a folder that holds books.csv and leaves.csv, and pages.csv and
sections.csv where there are any, with models and questions chosen by what the books
hold: pictures, several kinds of text, a set of hours, two hands. Each model has the
sentence that says what it asks; what the books do not allow yet stands in comments.
The questions count as asked afterwards until you seal them. Tables of instruments
and readings are begun where there are none. No file that is there is changed.`,
		Example: `  Begin a study of tables that you wrote yourself:
    thumbed begin mine --title "Three books of hours"
    thumbed check mine`,
		Args: exactly("DIR, the folder with the tables"),
		RunE: func(cmd *cobra.Command, args []string) error { return begin(cmd, args[0], title) },
	}
	cmd.Flags().StringVar(&title, "title", "", "`WORDS` for the head of the page (default: the books' titles)")
	return cmd
}

func begin(cmd *cobra.Command, dir, title string) error {
	path := filepath.Join(dir, draft.FileName)
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s is there already; nothing was changed", path)
	}
	paths := codex.Paths{Books: filepath.Join(dir, "books.csv"), Leaves: filepath.Join(dir, "leaves.csv")}
	var missing []intake.Table
	for _, t := range []struct {
		name   string
		schema table.Schema
		at     *string
	}{{"pages.csv", codex.PagesSchema(), &paths.Pages}, {"sections.csv", codex.SectionsSchema(), &paths.Sections},
		{"instruments.csv", readings.InstrumentsSchema(), new(string)}} {
		if at := filepath.Join(dir, t.name); !there(at) {
			missing = append(missing, intake.Empty(t.name, t.schema))
		} else {
			*t.at = at
		}
	}
	logs, err := filepath.Glob(filepath.Join(dir, "readings*.csv"))
	if err != nil {
		return err
	}
	if len(logs) == 0 {
		logs = []string{filepath.Join(dir, "readings.csv")}
		missing = append(missing, intake.Empty("readings.csv", readings.ReadingsSchema()))
	}
	var ps table.Problems
	d := draft.Draft{Title: title, Books: codex.Load(paths, &ps)}
	if err := ps.Err(); err != nil {
		return err
	}
	for _, log := range logs {
		d.Readings = append(d.Readings, filepath.Base(log))
	}
	if title == "" {
		d.Title = titleOf(d.Books)
	}
	for _, t := range missing {
		if err := t.Write(dir); err != nil {
			return err
		}
	}
	if err := folder.WriteFile(path, func(w io.Writer) error { _, err := io.WriteString(w, d.Text()); return err }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: read it, and change what you like; then thumbed check %s\n", path, shellWord(dir))
	return err
}

// titleOf is a title made of the books' own.
func titleOf(books []*codex.Book) string {
	if len(books) == 1 && books[0].Title != "" {
		return books[0].Title
	}
	return fmt.Sprintf("%d books", len(books))
}

func there(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}
