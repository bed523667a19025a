package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"stopledger/events"
)

func newWords(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "words",
		Short: "print the vocabulary, or the JSON Schema of an event",
		Args:  cobra.NoArgs,
	}
	formatFlag(c, "markdown", "schema")
	c.RunE = func(*cobra.Command, []string) error {
		if a.format == "schema" {
			_, err := a.out.Write(events.Schema())
			return err
		}
		_, err := fmt.Fprint(a.out, events.Handbook())
		return err
	}
	return c
}
