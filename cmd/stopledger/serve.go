package main

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"stopledger/events/bus"
	"stopledger/web"
)

// door is where and how to serve.
type door struct {
	listen    string
	hosts     []string
	ownTLS    bool
	cert, key string
	plain     bool
}

func newServe(a *app) *cobra.Command {
	var d door
	o := bus.Options{}
	c := &cobra.Command{
		Use:   "serve --ledger X",
		Short: "serve the Pad and the pages to those who were let in",
		Long: "Serves to whoever opened a link; the first start prints the owner's, and stopledger access\n" +
			"grant makes more. Addresses beyond this machine are served with TLS: --tls makes an\n" +
			"authority of the ledger's own, --tls-cert and --tls-key take a certificate of yours.",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			o.Log = a.log
			l, err := bus.Open(c.Context(), a.ledger, o)
			if err != nil {
				return err
			}
			defer l.Close()
			return a.serveToGuests(c.Context(), l, d)
		},
	}
	ledgerFlag(c)
	c.Flags().StringVar(&d.listen, "listen", "127.0.0.1:8080", "where; port 0 takes a free one")
	c.Flags().StringSliceVar(&d.hosts, "host", nil, "names by which people reach this server; its addresses and loopback's names need none")
	c.Flags().BoolVar(&d.ownTLS, "tls", false, "TLS under an authority kept in the ledger's directory, made if need be; its fingerprint is printed")
	c.Flags().StringVar(&d.cert, "tls-cert", "", "TLS with this certificate (PEM, with its chain)")
	c.Flags().StringVar(&d.key, "tls-key", "", "and its key")
	c.Flags().BoolVar(&d.plain, "plain-http-the-network-may-read-along", false, "serve beyond this machine without TLS: everybody on the way can read keys and charts")
	c.MarkFlagsMutuallyExclusive("tls", "tls-cert")
	c.MarkFlagsRequiredTogether("tls-cert", "tls-key")
	clusterFlags(c, &o)
	return c
}

// serve is for whoever sits at this machine, without passes.
func (a *app) serve(ctx context.Context, l *bus.Ledger, listen string) error {
	listener, err := listenOn(listen)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "Stopledger serves %s to this machine\n  games  http://%s/\n  board  http://%s/board\n", l, listener.Addr(), listener.Addr())
	return web.New(web.Config{Ledger: l, Trail: l, Log: a.log}).Serve(ctx, listener)
}

func listenOn(address string) (net.Listener, error) {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w; another address: --listen 127.0.0.1:0", address, err)
	}
	return l, nil
}

// serveToGuests is for those who opened a link.
func (a *app) serveToGuests(ctx context.Context, l *bus.Ledger, d door) error {
	listener, err := listenOn(d.listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	book, err := passesOf(ctx, l)
	if err != nil {
		return err
	}
	cfg := web.Config{Ledger: l, Passes: book, Trail: l, Log: a.log, PlainHTTP: d.plain, Hosts: append(d.hosts, ownAddresses(listener.Addr())...)}
	authority, err := d.secure(l, &cfg)
	if err != nil {
		return err
	}
	at := d.address(listener.Addr(), cfg.TLS != nil)
	owner, err := ownerLink(ctx, l, book, at)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "Stopledger serves %s\n  games  %s/\n  board  %s/board\n", l, at, at)
	if owner != "" {
		fmt.Fprintf(a.out, "  owner  %s\n         shown once; it opens one device, for a year\n", owner)
	} else {
		fmt.Fprintf(a.out, "  a link for another device or person: stopledger access grant --ledger %s --at %s --role …  --who …\n", l, at)
	}
	if authority != nil {
		fmt.Fprintf(a.out, "  TLS under this ledger's own authority; devices get it from %s/authority.pem and trust it once\n  its SHA-256 fingerprint: %s\n", at, authority.Fingerprint)
	} else if cfg.TLS == nil && d.plain {
		fmt.Fprintln(a.out, "  PLAIN HTTP: the network can read along, and a Pad does not open again without a line (browsers want TLS for that)")
	}
	return web.New(cfg).Serve(ctx, listener)
}

// secure sets up TLS as asked for.
func (d door) secure(l *bus.Ledger, cfg *web.Config) (*web.Authority, error) {
	if d.cert != "" {
		pair, err := tls.LoadX509KeyPair(d.cert, d.key)
		if err != nil {
			return nil, fmt.Errorf("read --tls-cert and --tls-key: %w", err)
		}
		cfg.TLS = &tls.Config{MinVersion: tls.VersionTLS12, Certificates: []tls.Certificate{pair}}
		return nil, nil
	}
	if !d.ownTLS {
		return nil, nil
	}
	if info, err := os.Stat(l.String()); err != nil || !info.IsDir() {
		return nil, fmt.Errorf("--tls keeps its authority in the ledger's directory, and %s is none; give --tls-cert and --tls-key", l)
	}
	authority, err := web.OwnAuthority(l.String(), cfg.Hosts)
	if err != nil {
		return nil, err
	}
	cfg.Authority = authority.PEM
	cfg.TLS, err = authority.Config(cfg.Hosts)
	return authority, err
}

// address is how people reach the server: by the first name given, else by the
// address it listens on.
func (d door) address(a net.Addr, secure bool) string {
	scheme, host := "http", a.String()
	if secure {
		scheme = "https"
	}
	tcp, ok := a.(*net.TCPAddr)
	if len(d.hosts) > 0 && ok {
		host = net.JoinHostPort(d.hosts[0], fmt.Sprint(tcp.Port))
	} else if own := ownAddresses(a); ok && tcp.IP.IsUnspecified() && len(own) > 0 {
		host = net.JoinHostPort(own[0], fmt.Sprint(tcp.Port))
	}
	return scheme + "://" + host
}

// ownAddresses are the addresses of this machine that a listener answers at. A
// page of another site cannot pretend to be one of them as it can with a name.
func ownAddresses(a net.Addr) (out []string) {
	tcp, ok := a.(*net.TCPAddr)
	if !ok || tcp.IP.IsLoopback() {
		return nil
	}
	if !tcp.IP.IsUnspecified() {
		return []string{tcp.IP.String()}
	}
	list, _ := net.InterfaceAddrs()
	for _, one := range list {
		if ip, _, ok := strings.Cut(one.String(), "/"); ok && !strings.HasPrefix(ip, "fe80:") && !net.ParseIP(ip).IsLoopback() {
			out = append(out, ip)
		}
	}
	return out
}
