package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"strings"
)

func main() {
	if played, err := playPart(); played {
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	short := flag.Bool("short", false, "fewer events and kills")
	seed := flag.Uint64("seed", 1, "which random moments")
	only := flag.String("only", "", "only rounds whose name holds this")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	bad := false
	printHead(os.Stdout)
	for _, r := range rounds {
		if !strings.Contains(r.name, *only) {
			continue
		}
		fmt.Fprintf(os.Stderr, "%s…\n", r.name)
		got, err := run(ctx, r, size{short: *short, seed: *seed})
		if err != nil {
			fmt.Fprintf(os.Stderr, "%s: %v\n", r.name, err)
			bad = true
		}
		for _, w := range got.wrong {
			fmt.Fprintf(os.Stderr, "%s: %s\n", r.name, w)
		}
		bad = bad || !got.clean()
		got.print(os.Stdout)
	}
	if bad {
		os.Exit(1)
	}
}
