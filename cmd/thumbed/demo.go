package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"thumbed/models/study/demo"
)

func init() { register(newDemoCommand) }

func newDemoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "demo DIR",
		Short: "Write an invented study to try things on",
		Long: `Writes a whole study into a new folder: study.toml, the tables of four invented
books of hours, and the log of a densitometer. Use it to see what thumbed
answers, and as the pattern for a study of your own. README.txt in the folder
says what each file holds.

The same files are written every time. DIR must not be there yet: nothing of
yours is ever written over.`,
		Example: `  Write it, check it, run it:
    thumbed demo demo
    thumbed check demo
    thumbed run demo`,
		Args: exactly("the name of a new folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := args[0]
			if dir == "" {
				return usagef("the name of the new folder is empty")
			}
			if err := demo.Write(dir); err != nil {
				return err
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s holds an invented study of four books of hours.\nNext: thumbed run %s\n", dir, shellWord(filepath.Clean(dir)))
			return err
		},
	}
}
