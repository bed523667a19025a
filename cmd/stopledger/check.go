package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"stopledger/metrics/definition"
)

// checkedFile is what check says of one file, for programs.
type checkedFile struct {
	File     string                     `json:"file"`
	Name     string                     `json:"name,omitempty"`
	Hash     string                     `json:"hash,omitempty"`
	Problems []definition.Problem       `json:"problems"`
	Examples []definition.ExampleResult `json:"examples"`
}

func newCheck(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "check FILE.yaml…",
		Short: "check definitions and run their worked examples",
		Long: "Reads each definition, says what is wrong with it at its place, and runs its own worked\n" +
			"examples, expected against got. Without a file it checks the definitions that come\n" +
			"with the program. Exits with 1 where anything is wrong.",
	}
	formatFlag(c, "table", "json")
	c.RunE = func(_ *cobra.Command, files []string) error {
		checked, err := checkFiles(files)
		if err != nil {
			return err
		}
		if a.format == "json" {
			if err := writeJSON(a.out, checked); err != nil {
				return err
			}
		} else {
			a.printChecked(checked)
		}
		if n := wrongs(checked); n > 0 {
			return findingsError{fmt.Sprintf("%d things are wrong", n)}
		}
		return nil
	}
	return c
}

func checkFiles(files []string) ([]checkedFile, error) {
	var list []checkedFile
	names := map[string]string{}
	if len(files) == 0 {
		for _, d := range definition.Shipped() {
			list = append(list, checked(d.File, d))
		}
		return list, nil
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		d, err := definition.Parse(file, text)
		var problems definition.Problems
		switch {
		case errors.As(err, &problems):
			list = append(list, checkedFile{File: file, Problems: problems, Examples: []definition.ExampleResult{}})
		case err != nil:
			return nil, fmt.Errorf("%s: %w", file, err)
		default:
			if other, twice := names[d.Name]; twice {
				return nil, fmt.Errorf("%s and %s both define %q; give one of them another name", other, file, d.Name)
			}
			names[d.Name] = file
			list = append(list, checked(file, d))
		}
	}
	return list, nil
}

func checked(file string, d *definition.Definition) checkedFile {
	return checkedFile{File: file, Name: d.Name, Hash: d.Hash(), Problems: []definition.Problem{}, Examples: definition.Check(d)}
}

func wrongs(list []checkedFile) int {
	n := 0
	for _, f := range list {
		n += len(f.Problems)
		for _, e := range f.Examples {
			if !e.OK {
				n++
			}
		}
	}
	return n
}

func (a *app) printChecked(list []checkedFile) {
	for _, f := range list {
		for _, p := range f.Problems {
			fmt.Fprintln(a.out, p.Error())
		}
		held := 0
		for _, e := range f.Examples {
			if e.OK {
				held++
				continue
			}
			fmt.Fprintf(a.out, "%s:%d:%d: %s\n", f.File, e.Line, e.Column, e)
		}
		if len(f.Problems) == 0 {
			fmt.Fprintf(a.out, "%s: %s %s, %d of %d expectations hold\n", f.File, f.Name, f.Hash[:12], held, len(f.Examples))
		}
	}
}
