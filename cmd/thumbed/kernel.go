package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"thumbed/kernel/headless"
	"thumbed/kernel/install"
	"thumbed/kernel/relay"
)

func init() { register(newKernelCommand) }

func newKernelCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "kernel install|status|remove",
		Short: "Set up, check or remove the notebook kernel",
		Long: `Sets up Jupyter, the notebook program, so that its cells are Go and import the
packages of thumbed, with no network and no path in the notebook.

Jupyter itself comes from Debian:
    apt-get install ` + headless.Packages,
		Example: `  Install for yourself, and see a cell run:
    thumbed kernel install
    thumbed kernel status

  Then open a notebook, and choose the kernel "thumbed (Go)":
    jupyter notebook --ip 127.0.0.1`,
	}
	c.AddCommand(newKernelInstallCommand(), newKernelStatusCommand(), newKernelRemoveCommand(), newKernelServeCommand())
	return c
}

// A placeFlags is where a kernel is to be, as the command line says.
type placeFlags struct {
	system bool
	prefix string
}

func (p *placeFlags) add(c *cobra.Command) {
	c.Flags().BoolVar(&p.system, "system", false, "for every user of this machine (needs its administrator)")
	c.Flags().StringVar(&p.prefix, "prefix", "", "for the virtual environment in this `folder`")
}

func (p *placeFlags) place() (install.Place, error) {
	switch {
	case p.system && p.prefix != "":
		return install.Place{}, usagef("--system and --prefix are two places; give one of them")
	case p.system:
		return install.SystemPlace(), nil
	case p.prefix != "":
		return install.PrefixPlace(p.prefix)
	}
	return install.UserPlace()
}

func newKernelInstallCommand() *cobra.Command {
	var at placeFlags
	var o install.Options
	c := &cobra.Command{
		Use:   "install [--system | --prefix FOLDER] [--source FOLDER]",
		Short: "Install the notebook kernel",
		Long: `Installs the notebook kernel for you alone, for every user of this machine, or
for a virtual environment; builds what it is made of; and compiles the packages
that cells import, so that the first cell need not wait.

The cells import the packages from the source of thumbed: the folder that this
command was built in, or else the one around the current folder, or the one
that --source names. It must stay there, except with --system, which copies it.
What is missing on this machine is listed, with how to get it.`,
		Example: `    thumbed kernel install
    thumbed kernel install --prefix "$VIRTUAL_ENV"
    sudo thumbed kernel install --system`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			place, err := at.place()
			if err != nil {
				return err
			}
			o.Place = place
			o.Tell = func(words string) { fmt.Fprintln(cmd.ErrOrStderr(), words) }
			if err := install.Install(o); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Installed for %s. Prove it with: thumbed kernel status\n", place.Words)
			return nil
		},
	}
	at.add(c)
	c.Flags().StringVar(&o.Source, "source", "", "the `folder` of the source of thumbed")
	c.Flags().BoolVar(&o.AnyJupyter, "any-jupyter", false, "install even where no Jupyter is found, for one that is elsewhere")
	return c
}

func newKernelStatusCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "status",
		Short: "Prove the notebook kernel by running a cell",
		Long: `Looks for Jupyter, the kernel and Go, and runs a cell that imports one of the
packages of thumbed. It says what is wrong and how to mend it, and then exits
with 1.`,
		Example: `    thumbed kernel status`,
		Args:    exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			well := true
			for _, f := range install.Status(cmd.Context()) {
				mark := "well "
				if !f.OK {
					mark, well = "WRONG", false
				}
				fmt.Fprintf(cmd.OutOrStdout(), "%s  %s\n", mark, f.Words)
			}
			if !well {
				return errors.New("the kernel does not work yet; see above")
			}
			return nil
		},
	}
}

func newKernelRemoveCommand() *cobra.Command {
	var at placeFlags
	c := &cobra.Command{
		Use:   "remove [--system | --prefix FOLDER]",
		Short: "Remove the notebook kernel",
		Long: `Removes what thumbed kernel install put there. Notebooks stay, and so does what
Go has compiled (go clean -cache removes that).`,
		Example: `    thumbed kernel remove
    thumbed kernel remove --prefix "$VIRTUAL_ENV"`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			place, err := at.place()
			if err != nil {
				return err
			}
			was, err := install.Remove(place)
			if err != nil {
				return err
			}
			if !was {
				fmt.Fprintf(cmd.OutOrStdout(), "There was no kernel for %s.\n", place.Words)
				return nil
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Removed the kernel for %s.\n", place.Words)
			return nil
		},
	}
	at.add(c)
	return c
}

// newKernelServeCommand is what Jupyter calls, never a person.
func newKernelServeCommand() *cobra.Command {
	return &cobra.Command{
		Use:    "serve CONNECTION-FILE",
		Short:  "Serve one notebook (Jupyter calls this)",
		Long:   "Serves one notebook. Jupyter calls this, with a connection file of its own.",
		Hidden: true,
		Args:   exactly("CONNECTION-FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			return relay.ServeInstalled(args[0])
		},
	}
}
