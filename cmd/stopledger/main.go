// Command stopledger charts how a prospect defends, replays what was charted
// under definitions that change, and says how sure the numbers are.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// Exit codes.
const (
	exitOK       = 0
	exitFindings = 1 // the command worked and found something wrong with the data
	exitFailed   = 2 // the command could not do its work
)

// findingsError makes the command end with exitFindings: its output is
// complete, and says what was found.
type findingsError struct{ text string }

func (e findingsError) Error() string { return e.text }

// run is the program, apart from the process it runs in.
func run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) int {
	err := newRoot(args, in, out, errs).ExecuteContext(ctx)
	switch found := (findingsError{}); {
	case err == nil:
		return exitOK
	case asFindings(err, &found):
		fmt.Fprintln(errs, "stopledger:", found.text)
		return exitFindings
	default:
		fmt.Fprintln(errs, "stopledger:", err)
		return exitFailed
	}
}
