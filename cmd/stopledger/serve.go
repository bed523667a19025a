package main

import (
	"context"
	"fmt"
	"net"

	"github.com/spf13/cobra"

	"stopledger/events/bus"
	"stopledger/web"
)

func newServe(a *app) *cobra.Command {
	var listen string
	c := &cobra.Command{
		Use:   "serve --ledger X",
		Short: "serve the Pad and the Board on this machine",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			l, err := a.openForWriting(c.Context())
			if err != nil {
				return err
			}
			defer l.Close()
			return a.serve(c.Context(), l, listen)
		},
	}
	ledgerFlag(c)
	c.Flags().StringVar(&listen, "listen", "127.0.0.1:8080", "a loopback address; port 0 takes a free one")
	return c
}

func (a *app) serve(ctx context.Context, l *bus.Ledger, listen string) error {
	listener, err := net.Listen("tcp", listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; another address: --listen 127.0.0.1:0", listen, err)
	}
	fmt.Fprintf(a.out, "Stopledger serves %s\n  games  http://%s/\n  board  http://%s/board\n", l, listener.Addr(), listener.Addr())
	return web.New(web.Config{Ledger: l, Log: a.log}).Serve(ctx, listener)
}
