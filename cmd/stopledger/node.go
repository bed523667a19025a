package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"stopledger/events/bus"
	"stopledger/events/bus/node"
)

func newNode(a *app) *cobra.Command {
	var o node.Options
	var venues []string
	c := &cobra.Command{
		Use:   "node --dir FOLDER",
		Short: "run a server for ledgers beyond one machine",
		Long: "Runs a server that keeps a ledger for other machines: alone, as one of a cluster that keeps\n" +
			"every event on several, or as the headquarters that venues hand their events to. It is\n" +
			"reached with --ledger nats://… by every command. Without --config it stays on loopback.",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			o.Log = a.log
			n, err := node.Start(o)
			if err != nil {
				return err
			}
			defer n.Close()
			fmt.Fprintf(a.out, "node %s serves --ledger %s\n", o.Name, n.URL())
			if leaf := n.LeafURL(); leaf != "" {
				fmt.Fprintf(a.out, "  venues hand over with: stopledger serve --ledger FOLDER --hand-to %s --as VENUE\n", leaf)
			}
			if len(venues) > 0 {
				l, err := bus.Open(c.Context(), n.URL(), bus.Options{Log: a.log})
				if err != nil {
					return err
				}
				defer l.Close()
				if err := l.TakeFrom(c.Context(), venues...); err != nil {
					return err
				}
				fmt.Fprintf(a.out, "  takes events from %s\n", strings.Join(venues, ", "))
			}
			<-c.Context().Done()
			return nil
		},
	}
	f := c.Flags()
	f.StringVar(&o.Dir, "dir", "", "where it stores")
	f.StringVar(&o.Name, "name", "node", "this server, different for each of a cluster")
	f.StringVar(&o.Listen, "listen", "127.0.0.1:4222", "for ledgers' clients")
	f.StringVar(&o.Cluster, "cluster", "", "the cluster's name")
	f.StringVar(&o.ClusterListen, "cluster-listen", "127.0.0.1:6222", "for the cluster's other servers")
	f.StringSliceVar(&o.Routes, "routes", nil, "the other servers' --cluster-listen")
	f.StringVar(&o.LeafListen, "venues-listen", "", "for venues that hand over their events")
	f.StringSliceVar(&venues, "venues", nil, "the names of the venues to take events from")
	f.StringVar(&o.Config, "config", "", "a nats-server configuration file: users, TLS, accounts")
	must(c.MarkFlagRequired("dir"))
	return c
}
