package main

import (
	"github.com/spf13/cobra"

	"stopledger/events/bus"
)

// clusterFlags are for a ledger on a server or a cluster.
func clusterFlags(c *cobra.Command, o *bus.Options) {
	c.Flags().StringVar(&o.Credentials, "credentials", "", "a file with credentials for a nats:// or tls:// ledger")
	c.Flags().StringVar(&o.CA, "ca", "", "the authority of a tls:// ledger's certificate")
	c.Flags().IntVar(&o.Replicas, "replicas", 0, "how many servers of a cluster keep the ledger, when it is made there: 1, 3 or 5")
}
