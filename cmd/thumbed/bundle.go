package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"thumbed/models/study/deposit"
	"thumbed/models/wording"
)

func init() { register(newBundleCommand) }

type bundleOptions struct{ results, out, check, source string }

func newBundleCommand() *cobra.Command {
	var o bundleOptions
	cmd := &cobra.Command{
		Use:   "bundle STUDY | CORPUS [--results DIR] [--program SOURCE] --out PATH | bundle --check PATH",
		Short: "Pack a study or corpus with its results for a repository, or check such a bundle",
		Long: `Packs a study, or a corpus with its folders, for deposit in a repository: its tables
with their schemas, the study file, the seal, the record of the run, and all results. The bundle is one folder, or
one file where PATH ends in .zip, and is at once a Frictionless Data Package
(datapackage.json) and an RO-Crate (ro-crate-metadata.json). All files stand in it
as they are, so that whoever unpacks it can make the run again:
thumbed rerun results. The same study gives the same bundle, byte for byte. With
--program the bundle holds the source of this program too, with all its modules, from
the folder that it was built in: who unpacks program.zip builds it with Go alone,
without a network, in years to come too.

Nothing is bundled where the results are missing, are not those of the study's files
as they stand, or were changed by hand.

A file deposit.toml beside the study says what a repository wants to know; all of it
may be left out, and it may be written after the run:

  licence     = "CC-BY-4.0"        # or another short identifier, or a web address
  description = "What the readings are, and why they were taken."
  keywords    = ["books of hours", "wear"]
  date        = "2026-06-30"       # of publication; else the day of the last reading
  [[creator]]                      # else the author that the study names
  name        = "A. N. Example"
  orcid       = "0000-0002-1825-0097"
  affiliation = "University of Veldermond"
  email       = "a.n.example@example.org"

With --check, looks through a bundle that was received: whether every file is there
and what it was, whether every table is as its schema says, whether the record was
made of these files, and whether the metadata are as the standards want them. Nothing
is unpacked.

STUDY is a study.toml, CORPUS a corpus.toml, or the folder that holds one.`,
		Example: `  Run, bundle, and check what was bundled:
    thumbed run mine
    thumbed bundle mine --out mine.zip
    thumbed bundle --check mine.zip`,
		Args: func(c *cobra.Command, args []string) error {
			if c.Flags().Changed("check") {
				return cobra.NoArgs(c, args)
			}
			return exactly("STUDY, a study.toml or its folder, or CORPUS, a corpus.toml or its folder")(c, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("check") {
				if o.check == "" || o.out != "" || o.results != "" || o.source != "" {
					return usagef("--check needs the path of a bundle, and nothing else")
				}
				return checkBundle(cmd, o.check)
			}
			if o.out == "" {
				return usagef("%s needs --out, the name of a new folder or .zip", cmd.CommandPath())
			}
			return bundle(cmd, args[0], o)
		},
	}
	cmd.Flags().StringVar(&o.results, "results", "", "`DIR` with the results (default: results, beside the study)")
	cmd.Flags().StringVar(&o.out, "out", "", "`PATH` of the bundle, a new folder or a new .zip")
	cmd.Flags().StringVar(&o.source, "program", "", "`SOURCE`, the folder that the program was built in, to bundle it too")
	cmd.Flags().StringVar(&o.check, "check", "", "`PATH` of a bundle to check")
	return cmd
}

func bundle(cmd *cobra.Command, path string, o bundleOptions) error {
	var b *deposit.Bundle
	var err error
	during(cmd.ErrOrStderr(), "packing", func() {
		if b, err = deposit.Pack(path, o.results, o.source); err == nil {
			err = b.Write(o.out)
		}
	})
	if err != nil {
		return err
	}
	for _, note := range b.Notes {
		fmt.Fprintln(cmd.ErrOrStderr(), note)
	}
	files, bytes := b.Files()
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s holds the %s whole: %s, %s MB.\nTo check it: thumbed bundle --check %s\n", o.out, b.Word(),
		plainSpaces.Replace(wording.Count(files, "file", "files")), megabytes(bytes), shellWord(o.out))
	return err
}

func checkBundle(cmd *cobra.Command, path string) error {
	var found *deposit.Checked
	var err error
	during(cmd.ErrOrStderr(), "checking the bundle", func() { found, err = deposit.Check(path) })
	if err != nil {
		return errors.Join(errors.New("the bundle is not whole"), err)
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s\nThe bundle is whole: %s, %s MB, among them %s with %s; each is what was bundled.\nTo make its run again, unpack it, and in its folder: %s\n", found.Title,
		plainSpaces.Replace(wording.Count(found.Files, "file", "files")), megabytes(found.Bytes),
		plainSpaces.Replace(wording.Count(found.Tables, "table", "tables")), plainSpaces.Replace(wording.Count(found.Rows, "row", "rows")), found.Rerun)
	return err
}

func megabytes(bytes int64) string { return fmt.Sprintf("%.1f", float64(bytes)/1e6) }
