package main

import (
	"github.com/spf13/cobra"

	"stopledger/events/bus"
)

// clusterFlags are for a ledger on a server, a cluster, or handed over to one.
func clusterFlags(c *cobra.Command, o *bus.Options) {
	o.Handover = new(bus.Handover)
	f := c.Flags()
	f.StringVar(&o.Credentials, "credentials", "", "a file with credentials for a nats:// or tls:// ledger")
	f.StringVar(&o.CA, "ca", "", "the authority of a tls:// ledger's certificate")
	f.IntVar(&o.Replicas, "replicas", 0, "how many servers of a cluster keep the ledger, when it is made there: 1, 3 or 5")
	f.StringVar(&o.Handover.To, "hand-to", "", "the headquarters to hand this directory's events to whenever there is a line: nats-leaf://… or tls://…")
	f.StringVar(&o.Handover.As, "as", "", "this venue's name there")
	f.StringVar(&o.Handover.Credentials, "hand-credentials", "", "a file with credentials for the headquarters")
	f.StringVar(&o.Handover.CA, "hand-ca", "", "the authority of the headquarters' certificate")
	c.MarkFlagsRequiredTogether("hand-to", "as")
}
