package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"
	"golang.org/x/term"
)

// app is what every command shares: where to read and write, and the flags of
// all.
type app struct {
	in        io.Reader
	out, errs io.Writer
	verbose   bool
	ledger    string
	format    string
	asOf      string
	args      []string // the command line, for results that can be computed again
	log       zerolog.Logger
}

func newRoot(args []string, in io.Reader, out, errs io.Writer) *cobra.Command {
	a := &app{args: args, in: in, out: out, errs: errs}
	root := &cobra.Command{
		Use:   "stopledger",
		Short: "chart defence, replay the log, say how sure",
		Long: "Stopledger charts how a prospect defends: every thing he was asked to do, how it\n" +
			"ended and what it cost. It replays the log under definitions that you change and\n" +
			"says how sure each number is.",
		SilenceUsage:  true,
		SilenceErrors: true,
		PersistentPreRun: func(c *cobra.Command, _ []string) {
			a.log = a.logger()
			a.take(c)
		},
	}
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	root.PersistentFlags().BoolVarP(&a.verbose, "verbose", "v", false, "say more on standard error")
	root.AddCommand(commands(a)...)
	return root
}

// logger writes what happens to standard error, in colour only where a person
// reads and did not ask for none (https://no-color.org).
func (a *app) logger() zerolog.Logger {
	level := zerolog.WarnLevel
	if a.verbose {
		level = zerolog.DebugLevel
	}
	plain := !a.onTerminal() || os.Getenv("NO_COLOR") != ""
	w := zerolog.ConsoleWriter{Out: a.errs, NoColor: plain, TimeFormat: time.TimeOnly}
	return zerolog.New(w).Level(level).With().Timestamp().Logger()
}

// onTerminal reports whether a person reads standard error.
func (a *app) onTerminal() bool {
	f, ok := a.errs.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// take reads the flags that several commands share, each with a default of its
// own.
func (a *app) take(c *cobra.Command) {
	for name, to := range map[string]*string{"ledger": &a.ledger, "format": &a.format, "as-of": &a.asOf} {
		if f := c.Flags().Lookup(name); f != nil {
			*to = f.Value.String()
		}
	}
}

// ledgerFlag adds --ledger, which names a ledger in the same way everywhere.
func ledgerFlag(c *cobra.Command) {
	c.Flags().String("ledger", "", "a directory, a .jsonl file or a nats:// address")
	must(c.MarkFlagRequired("ledger"))
}

// asOfFlag adds --as-of to a command that reads.
func asOfFlag(c *cobra.Command) {
	c.Flags().String("as-of", "", "the ledger as it stood then: a time (2031-01-14T19:30:00Z), an event's id or a position")
}

// formatFlag adds --format with the formats the command can write, the first
// being the default.
func formatFlag(c *cobra.Command, formats ...string) {
	format := c.Flags().String("format", formats[0], "one of "+strings.Join(formats, ", "))
	must(c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(formats, cobra.ShellCompDirectiveNoFileComp)))
	c.PreRunE = func(*cobra.Command, []string) error {
		if !slices.Contains(formats, *format) {
			return fmt.Errorf("--format %q: want one of %s", *format, strings.Join(formats, ", "))
		}
		return nil
	}
}

// must is for mistakes in this program's own set-up.
func must(err error) {
	if err != nil {
		panic(err)
	}
}

func asFindings(err error, f *findingsError) bool { return errors.As(err, f) }
