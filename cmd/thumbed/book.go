package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thumbed/models/study/folder"
	"thumbed/models/study/workbook"
	"thumbed/models/wording"
)

func init() { register(newBookCommand) }

func newBookCommand() *cobra.Command {
	var out, take string
	var yes bool
	cmd := &cobra.Command{
		Use:   "book STUDY BOOK [--out FILE.xlsx] [--take FILE [--yes]]",
		Short: "Edit the description of a book as one table, in a spreadsheet",
		Long: `Writes a workbook with one row a page, in the order of the book: its quire, the text
that begins on it and the page where that ends, the office, the picture and its
subject, whether the page is blank and the leaf lost, and your own columns. Words
that are usual are offered in lists. Ends of texts that were inferred are coloured,
with the reason in a comment.

Where traces are looked for, the sheet looks has a row for an observer's looks at a page
on a day, and a column for each trace and part: the grade, yes or no, or the count, with
its exposure such as 3 / 12.5; ? and the reason where it cannot be told; empty where
nobody looked. Pages that nobody looked at wait for an observer and a date.

With --take a workbook that you have edited (.xlsx or .ods) is read back. What
changed is shown first; nothing is written before you say yes, or where a table
would no longer be sound. The tables as they were are kept in the folder former.

To enter a second text on a page, insert a row with the page again and the text. To
enter a leaf that is not there yet, insert a row with its folio where it stands; a
lost leaf without a number has yes under lost and no page.`,
		Example: `  Write a workbook, edit it, and take it back:
    thumbed book mine Ardel --out ardel.xlsx
    thumbed book mine Ardel --take ardel.xlsx`,
		Args: exactly("STUDY, a study file or its folder", "BOOK, its name in books.csv"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if take != "" && out != "" {
				return usagef("--out writes a workbook and --take reads one back: give one of them")
			}
			editor, err := workbook.Of(args[0], args[1])
			if err != nil {
				return err
			}
			if take == "" {
				if out == "" {
					out = args[1] + ".xlsx"
				}
				return writeBook(cmd, editor, out)
			}
			return takeBook(cmd, editor, take, yes)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`FILE.xlsx` to write (default: the book's name)")
	cmd.Flags().StringVar(&take, "take", "", "`FILE` to read back, .xlsx or .ods")
	cmd.Flags().BoolVar(&yes, "yes", false, "write the changes without asking")
	return cmd
}

func writeBook(cmd *cobra.Command, editor *workbook.Editor, path string) error {
	var made bytes.Buffer
	if err := editor.Write(&made); err != nil {
		return err
	}
	err := folder.WriteFile(path, func(w io.Writer) error {
		_, err := w.Write(made.Bytes())
		return err
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: edit it, then take it back with --take %s\n", path, shellWord(path))
	return err
}

func takeBook(cmd *cobra.Command, editor *workbook.Editor, path string, yes bool) error {
	changes, err := editor.Take(path)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	if len(changes) == 0 {
		_, err := fmt.Fprintln(out, "Nothing was changed in the workbook; nothing is written.")
		return err
	}
	for _, change := range changes {
		fmt.Fprintln(out, change)
	}
	if !yes {
		fmt.Fprintf(cmd.ErrOrStderr(), "Write %s? yes or no > ", plainSpaces.Replace(wording.Count(len(changes), "change", "changes")))
		line, _ := bufio.NewReader(cmd.InOrStdin()).ReadString('\n')
		if strings.TrimSpace(line) != "yes" {
			return fmt.Errorf("nothing was written; --yes writes without asking")
		}
	}
	former, err := editor.Save(time.Now())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "Written. The tables as they were are kept in %s.\n", former)
	return err
}
