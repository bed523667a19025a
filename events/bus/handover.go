package bus

import (
	"context"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go/jetstream"
)

// Handover says to whom a ledger in a directory hands its events, whenever
// there is a line. Charting does not wait for it: an event is safe when it is
// safe here.
type Handover struct {
	// To is the headquarters' address for venues: nats-leaf:// or tls://, with
	// user and password in it if Credentials is not used.
	To string
	// As is this venue's name there, different for each venue: small letters,
	// digits and hyphens.
	As string
	// Credentials and CA are as in Options, for the headquarters.
	Credentials string
	CA          string
}

var venueName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,62}$`)

// between lists what must not cross the line as it is published: the
// headquarters takes events from the venue's store, where none can be missed,
// and would otherwise hear each a second time, and answer for the venue. People
// and passes stay where they are.
var between = []string{"ledger.>", "trail.>", "$KV.>"}

// settle sets the embedded server up as a leaf of the headquarters.
func (h *Handover) settle(o *server.Options) error {
	if h == nil || h.To == "" {
		return nil
	}
	to, err := url.Parse(h.To)
	if err != nil || to.Host == "" {
		return fmt.Errorf("hand over to %q: want an address such as nats-leaf://127.0.0.1:7422", h.To)
	}
	if !venueName.MatchString(h.As) {
		return fmt.Errorf("hand over as %q: want a name of small letters, digits and hyphens", h.As)
	}
	remote := &server.RemoteLeafOpts{URLs: []*url.URL{to}, Credentials: h.Credentials, DenyExports: between, DenyImports: between}
	if to.Scheme == "tls" {
		remote.TLS = true
		if h.CA != "" {
			if remote.TLSConfig, err = trusting(h.CA); err != nil {
				return err
			}
		}
	}
	o.ServerName = "venue-" + h.As
	o.JetStreamDomain = h.As
	o.LeafNode.Remotes = []*server.RemoteLeafOpts{remote}
	o.LeafNode.ReconnectInterval = time.Second
	return nil
}

// TakeFrom makes the ledger take over the events of venues that hand them over
// under these names, those already there and those to come. Venues named before
// stay.
func (l *Ledger) TakeFrom(ctx context.Context, venues ...string) error {
	s, ok := l.log.(*stream)
	if !ok || l.readOnly {
		return explain("take events from venues into "+l.where, ErrReadOnly)
	}
	info, err := s.info(ctx)
	if err != nil {
		return s.explain("take events from venues", err)
	}
	cfg := info.Config
	for _, name := range venues {
		if !venueName.MatchString(name) {
			return fmt.Errorf("take events from %q: want a venue's name, of small letters, digits and hyphens", name)
		}
		api := "$JS." + name + ".API"
		if slices.ContainsFunc(cfg.Sources, func(s *jetstream.StreamSource) bool { return s.External != nil && s.External.APIPrefix == api }) {
			continue
		}
		cfg.Sources = append(cfg.Sources, &jetstream.StreamSource{Name: streamName, External: &jetstream.ExternalStream{APIPrefix: api}})
	}
	if _, err := s.js.UpdateStream(ctx, cfg); err != nil {
		return s.explain("take events from venues", err)
	}
	return nil
}

// Taking is how far the events of a venue have come.
type Taking struct {
	Venue  string
	Behind uint64        // events that are still to come, as of the last word
	Silent time.Duration // since that; negative if there was none yet
}

// Venues says how the taking over from venues stands.
func (l *Ledger) Venues(ctx context.Context) ([]Taking, error) {
	s, ok := l.log.(*stream)
	if !ok {
		return nil, nil
	}
	info, err := s.info(ctx)
	if err != nil {
		return nil, s.explain("ask for the venues", err)
	}
	var out []Taking
	for _, one := range info.Sources {
		if one.External == nil {
			continue
		}
		var name string
		if _, err := fmt.Sscanf(one.External.APIPrefix, "$JS.%s", &name); err != nil {
			continue
		}
		out = append(out, Taking{name[:max(0, len(name)-len(".API"))], one.Lag, one.Active})
	}
	return out, nil
}

// Leader names the server of a cluster that leads the ledger's stream now, and
// ErrUnreachable while there is none. Without a cluster it is "".
func (l *Ledger) Leader(ctx context.Context) (string, error) {
	s, ok := l.log.(*stream)
	if !ok {
		return "", nil
	}
	info, err := s.stream.Info(ctx)
	switch {
	case err != nil:
		return "", s.explain("ask for the leader", err)
	case info.Cluster == nil:
		return "", nil
	case info.Cluster.Leader == "":
		return "", fmt.Errorf("ask for the leader: %w: there is none now", ErrUnreachable)
	}
	return info.Cluster.Leader, nil
}
