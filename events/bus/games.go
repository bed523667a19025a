package bus

import (
	"context"
	"strings"

	"github.com/nats-io/nats.go/jetstream"

	"stopledger/events"
)

// Tally is how many messages a game has in the ledger, by chart and by pad.
// Repeated events count each time they are stored.
type Tally struct {
	Events int
	Charts map[events.Token]map[events.Token]int
}

// Games lists the games of the ledger without reading an event of a JetStream
// ledger; a file is read through.
func (l *Ledger) Games(ctx context.Context) (map[events.Token]Tally, error) { return l.log.games(ctx) }

// add counts n messages.
func (t *Tally) add(chart, pad events.Token, n int) {
	if t.Charts == nil {
		t.Charts = make(map[events.Token]map[events.Token]int)
	}
	if t.Charts[chart] == nil {
		t.Charts[chart] = make(map[events.Token]int)
	}
	t.Charts[chart][pad] += n
	t.Events += n
}

func (s *stream) games(ctx context.Context) (map[events.Token]Tally, error) {
	info, err := s.info(ctx, jetstream.WithSubjectFilter("ledger.>"))
	if err != nil {
		return nil, s.explain("list the ledger's games", err)
	}
	games := make(map[events.Token]Tally)
	for subject, n := range info.State.Subjects {
		parts := strings.Split(subject, ".")
		if len(parts) != 4 {
			continue
		}
		game := events.Token(parts[1])
		t := games[game]
		t.add(events.Token(parts[2]), events.Token(parts[3]), int(n))
		games[game] = t
	}
	return games, nil
}
