package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"reflect"
	"slices"
	"strconv"

	"github.com/spf13/cobra"
)

func newAgain(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "again RESULT.json",
		Short: "compute a result again and say whether it is the same",
		Long: "Runs the command that a result names, on the ledger as it stood then, and compares.\n" +
			"What was charted since changes nothing; a definition that was edited since does, and\n" +
			"is said. Exits with 1 where the result differs.",
		Args: cobra.ExactArgs(1),
	}
	c.Flags().String("ledger", "", "where the ledger is now, if it has moved")
	c.RunE = func(c *cobra.Command, args []string) error {
		text, err := os.ReadFile(args[0])
		if err != nil {
			return err
		}
		var old map[string]any
		if err := json.Unmarshal(text, &old); err != nil {
			return fmt.Errorf("%s is no result: %w", args[0], err)
		}
		command, err := a.commandOf(text)
		if err != nil {
			return fmt.Errorf("%s: %w", args[0], err)
		}
		var out bytes.Buffer
		if err := newRoot(command, a.in, &out, a.errs).ExecuteContext(c.Context()); err != nil {
			return fmt.Errorf("run %v again: %w", command, err)
		}
		var now map[string]any
		if err := json.Unmarshal(out.Bytes(), &now); err != nil {
			return fmt.Errorf("run %v again: %w", command, err)
		}
		return a.sayWhetherSame(old, now)
	}
	return c
}

// commandOf is the command line that a result names, on the ledger as it stood.
func (a *app) commandOf(text []byte) ([]string, error) {
	var result struct {
		Ledger ledgerRef `json:"ledger"`
	}
	if err := json.Unmarshal(text, &result); err != nil || len(result.Ledger.Command) == 0 {
		return nil, fmt.Errorf("it does not say which command it came from; only results of --format json do")
	}
	command := slices.Clone(result.Ledger.Command)
	if command[0] == "again" {
		return nil, fmt.Errorf("it came from again itself")
	}
	command = append(command, "--format", "json")
	if result.Ledger.AsOf == "" {
		command = append(command, "--as-of", strconv.FormatUint(result.Ledger.Position, 10))
	}
	if a.ledger != "" {
		command = append(command, "--ledger", a.ledger)
	}
	return command, nil
}

// sayWhetherSame compares two results apart from how they were asked for.
func (a *app) sayWhetherSame(old, now map[string]any) error {
	for _, r := range []map[string]any{old, now} {
		if ledger, ok := r["ledger"].(map[string]any); ok {
			delete(ledger, "command")
			delete(ledger, "as_of")
			delete(ledger, "position")
		}
	}
	keys := maps.Clone(old)
	maps.Copy(keys, now)
	var apart []string
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		if !reflect.DeepEqual(old[key], now[key]) {
			apart = append(apart, key)
		}
	}
	if len(apart) == 0 {
		fmt.Fprintln(a.out, "the same")
		return nil
	}
	fmt.Fprintf(a.out, "differs in %v\n", apart)
	if slices.Contains(apart, "definition") {
		fmt.Fprintf(a.out, "the definition was %v, it is %v now\n", old["definition"], now["definition"])
	}
	if slices.Contains(apart, "ledger") {
		fmt.Fprintf(a.out, "the ledger was %v, it is %v now\n", old["ledger"], now["ledger"])
	}
	return findingsError{"the result could not be computed again as it was"}
}
