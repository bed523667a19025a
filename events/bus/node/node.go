// Package node runs a server for ledgers beyond one machine: alone, as one of a
// cluster that keeps every event on several machines, or as the headquarters
// that venues hand their events to. It is a nats-server with the settings a
// ledger needs; [Start] gives a [Node], whose URL is what others open with
// bus.Open.
//
// Without a configuration file everything is on loopback. A listener beyond it
// is refused unless the configuration asks whoever connects for credentials.
package node

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"strconv"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/rs/zerolog"
)

// Options say what a node is to be. Addresses are host:port; port 0 or an
// empty address of Listen takes a free one.
type Options struct {
	Name   string // of this server, different for each of a cluster
	Dir    string // where it stores
	Listen string // for ledgers' clients; empty: 127.0.0.1 and a free port

	Cluster       string   // the cluster's name; empty: alone
	ClusterListen string   // for the other servers
	Routes        []string // the other servers' ClusterListen addresses

	LeafListen string // for venues that hand over; empty: none
	Domain     string // the name of this store among venues'; with LeafListen it is "hq" unless set

	// Config is a nats-server configuration file, for what is not above: users
	// and credentials, TLS, accounts.
	Config string
	Log    zerolog.Logger
}

// Node is a running server.
type Node struct {
	server *server.Server
	opts   *server.Options // the server writes the ports it took into these
}

const startTimeout = 30 * time.Second

// Start runs a server. Of a cluster it waits until the others are heard of, so
// three are started at once or in any order.
func Start(o Options) (*Node, error) {
	opts, err := o.settings()
	if err != nil {
		return nil, fmt.Errorf("start node %s: %w", o.Name, err)
	}
	if err := closedToStrangers(opts); err != nil {
		return nil, fmt.Errorf("start node %s: %w", o.Name, err)
	}
	s, err := server.NewServer(opts)
	if err != nil {
		return nil, fmt.Errorf("start node %s: %w", o.Name, err)
	}
	s.SetLoggerV2(logger{o.Log}, false, false, false)
	s.Start()
	if !s.ReadyForConnections(startTimeout) {
		s.Shutdown()
		return nil, fmt.Errorf("start node %s: it did not start within %s; is %s in use?", o.Name, startTimeout, o.Listen)
	}
	return &Node{s, opts}, nil
}

// URL is where clients connect.
func (n *Node) URL() string { return n.server.ClientURL() }

// LeafURL is where venues connect; "" if they cannot.
func (n *Node) LeafURL() string {
	if n.opts.LeafNode.Port <= 0 {
		return ""
	}
	return "nats-leaf://" + net.JoinHostPort(n.opts.LeafNode.Host, strconv.Itoa(n.opts.LeafNode.Port))
}

// Close stops the server. What it acknowledged is on disk.
func (n *Node) Close() {
	n.server.Shutdown()
	n.server.WaitForShutdown()
}

func (o Options) settings() (*server.Options, error) {
	opts := new(server.Options)
	if o.Config != "" {
		var err error
		if opts, err = server.ProcessConfigFile(o.Config); err != nil {
			return nil, fmt.Errorf("read --config: %w", err)
		}
	}
	if o.Dir == "" && opts.StoreDir == "" {
		return nil, errors.New("no directory to store in")
	}
	opts.NoSigs, opts.JetStream = true, true
	// As for the embedded server: an event is acknowledged when it is on disk. In
	// a cluster most of its servers have it on disk by then.
	opts.SyncAlways = true
	opts.JetStreamMaxMemory, opts.JetStreamMaxStore = 256<<20, 1<<50
	if o.Dir != "" {
		if err := os.MkdirAll(o.Dir, 0o700); err != nil {
			return nil, err
		}
		opts.StoreDir = o.Dir
	}
	if o.Name != "" {
		opts.ServerName = o.Name
	}
	if err := o.addresses(opts); err != nil {
		return nil, err
	}
	if o.Domain != "" {
		opts.JetStreamDomain = o.Domain
	} else if opts.LeafNode.Port != 0 && opts.JetStreamDomain == "" {
		opts.JetStreamDomain = "hq"
	}
	return opts, nil
}

func (o Options) addresses(opts *server.Options) (err error) {
	if o.Listen == "" && o.Config == "" {
		o.Listen = "127.0.0.1:0"
	}
	if o.Listen != "" {
		if opts.Host, opts.Port, err = hostPort(o.Listen); err != nil {
			return err
		}
	}
	if o.LeafListen != "" {
		if opts.LeafNode.Host, opts.LeafNode.Port, err = hostPort(o.LeafListen); err != nil {
			return err
		}
	}
	if o.Cluster == "" {
		return nil
	}
	opts.Cluster.Name = o.Cluster
	if opts.Cluster.Host, opts.Cluster.Port, err = hostPort(o.ClusterListen); err != nil {
		return err
	}
	for _, r := range o.Routes {
		opts.Routes = append(opts.Routes, &url.URL{Scheme: "nats-route", Host: r})
	}
	return nil
}

func hostPort(address string) (string, int, error) {
	host, text, err := net.SplitHostPort(address)
	port, portErr := strconv.Atoi(text)
	if err != nil || portErr != nil || host == "" || port < 0 || port > 65535 {
		return "", 0, fmt.Errorf("address %q: want host:port, such as 127.0.0.1:4222", address)
	}
	if port == 0 {
		port = server.RANDOM_PORT
	}
	return host, port, nil
}

// closedToStrangers refuses listeners beyond this machine that let anybody in.
func closedToStrangers(o *server.Options) error {
	asks := o.Username != "" || o.Authorization != "" || len(o.Users) > 0 || len(o.Nkeys) > 0 ||
		len(o.TrustedKeys) > 0 || len(o.TrustedOperators) > 0 || o.CustomClientAuthentication != nil
	const wayOut = "keep it on 127.0.0.1, or give a --config in which it asks for credentials"
	switch {
	case !o.DontListen && !loopback(o.Host) && !asks:
		return fmt.Errorf("listen on %s: whoever reaches it could read and write the ledger; %s", o.Host, wayOut)
	case o.LeafNode.Port != 0 && !loopback(o.LeafNode.Host) && !asks && o.LeafNode.Username == "" && len(o.LeafNode.Users) == 0 && o.LeafNode.Nkey == "":
		return fmt.Errorf("listen for venues on %s: whoever reaches it could read the ledger; %s", o.LeafNode.Host, wayOut)
	case o.Cluster.Port != 0 && !loopback(o.Cluster.Host) && o.Cluster.Username == "" && (o.Cluster.TLSConfig == nil || !o.Cluster.TLSMap):
		return fmt.Errorf("listen for the cluster on %s: whoever reaches it becomes part of it; %s", o.Cluster.Host, wayOut)
	}
	return nil
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// logger passes on what the server says.
type logger struct{ log zerolog.Logger }

func (l logger) Noticef(f string, v ...any) { l.log.Debug().Msgf(f, v...) }
func (l logger) Warnf(f string, v ...any)   { l.log.Warn().Msgf(f, v...) }
func (l logger) Fatalf(f string, v ...any)  { l.log.Error().Msgf(f, v...) }
func (l logger) Errorf(f string, v ...any)  { l.log.Error().Msgf(f, v...) }
func (l logger) Debugf(f string, v ...any)  {}
func (l logger) Tracef(f string, v ...any)  {}
