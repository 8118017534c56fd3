package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/table"
)

// verbs are the makers of the verbs, one a file.
var verbs []func() *cobra.Command

// register adds a verb; each file calls it from its init function. The verb's
// RunE returns a plain error where the data or the model says no, and one of
// usagef where the command line is wrong. It writes its result to
// cmd.OutOrStdout() and all else to cmd.ErrOrStderr(). A command that only
// gathers others (thumbed kernel install …) leaves Run and RunE empty.
func register(make func() *cobra.Command) { verbs = append(verbs, make) }

const rootLong = `thumbed measures how manuscript books were used, from the wear of their pages.

You bring the readings of a reflection densitometer, taken at the thumbed
corners of the pages and at an untouched spot of each, and a description of
the book: its leaves, quires, texts and pictures. thumbed turns the readings
into wear with its uncertainty, fits the models that you state, and answers the
questions that you ask of them, on a page with charts that you can cite.`

const rootExample = `  See a whole study work, on invented data:
    thumbed demo demo
    thumbed run demo

  Then look at demo/study.toml and its tables, and put yours in their place:
    thumbed check mine/study.toml
    thumbed run mine/study.toml`

// exitHelp closes every help text.
const exitHelp = `Exit codes:
  0  done, or all agrees
  1  the data, the model or the comparison says no; standard error says why
  2  the command itself was wrong`

const helpTemplate = `{{with or .Long .Short}}{{. | trimTrailingWhitespaces}}{{end}}

Use:
  {{if .HasAvailableSubCommands}}{{.CommandPath}} VERB …{{else}}{{.UseLine}}{{end}}
{{- if .HasExample}}

Examples:
{{.Example}}{{end}}
{{- if .HasAvailableSubCommands}}

Verbs:
{{- range .Commands}}{{if .IsAvailableCommand}}
  {{rpad .Name .NamePadding}} {{.Short}}{{end}}{{end}}

{{.CommandPath}} VERB --help explains a verb with examples.{{end}}
{{- if .HasAvailableLocalFlags}}

Options:
{{.LocalFlags.FlagUsages | trimTrailingWhitespaces}}{{end}}

` + exitHelp + "\n"

// newRoot makes the whole command, every registered verb under it.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "thumbed",
		Short:         "How manuscript books were used, from the wear of their pages",
		Long:          rootLong,
		Example:       rootExample,
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SuggestionsMinimumDistance = 2
	root.SetHelpTemplate(helpTemplate)
	for _, make := range verbs {
		root.AddCommand(make())
	}
	root.SetHelpCommand(newHelpCommand(root))
	gather(root)
	return root
}

// gather gives every command the words of its help option, and the root, and each
// command that only gathers others, those for a verb that is missing or unknown.
func gather(c *cobra.Command) {
	c.Flags().BoolP("help", "h", false, "show this help")
	c.DisableFlagsInUseLine = true // each verb's Use names its own options
	for _, child := range c.Commands() {
		gather(child)
	}
	if !c.HasSubCommands() || c.Runnable() {
		return
	}
	c.Args = cobra.ArbitraryArgs
	c.RunE = func(c *cobra.Command, args []string) error {
		if len(args) > 0 {
			return unknownVerb(c, args[0])
		}
		if c.HasParent() {
			return usagef("%s needs a verb: %s", c.CommandPath(), strings.Join(verbNames(c), ", "))
		}
		return c.Help()
	}
}

func unknownVerb(c *cobra.Command, name string) error {
	names := verbNames(c)
	near := table.Nearest(name, names)
	if alike := c.SuggestionsFor(name); near == "" && len(alike) > 0 {
		near = strings.Join(alike, " or ")
	}
	if near != "" {
		return usagef("%s has no verb %q; did you mean %s?", c.CommandPath(), name, near)
	}
	return usagef("%s has no verb %q; it has %s", c.CommandPath(), name, strings.Join(names, ", "))
}

func verbNames(c *cobra.Command) []string {
	var names []string
	for _, child := range c.Commands() {
		if child.IsAvailableCommand() {
			names = append(names, child.Name())
		}
	}
	slices.Sort(names)
	return names
}

func newHelpCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [VERB]",
		Short: "Explain a verb, with examples",
		Long:  "Explains thumbed, or one of its verbs, with worked examples.",
		Example: `    thumbed help run
    thumbed help check`,
		RunE: func(_ *cobra.Command, args []string) error {
			at := root
			for _, name := range args {
				next := slices.IndexFunc(at.Commands(), func(c *cobra.Command) bool {
					return c.Name() == name || c.HasAlias(name)
				})
				if next < 0 {
					return unknownVerb(at, name)
				}
				at = at.Commands()[next]
			}
			return at.Help()
		},
	}
}

// exactly is the Args of a verb that takes these arguments, no fewer and no
// more; its message names them.
func exactly(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < len(names) {
			return fmt.Errorf("%s needs %s: %s", c.CommandPath(), names[len(args)], c.UseLine())
		}
		if len(args) > len(names) {
			return fmt.Errorf("%s does not know what to do with %q: %s", c.CommandPath(), args[len(names)], c.UseLine())
		}
		return nil
	}
}
