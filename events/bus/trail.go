package bus

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"regexp"
	"time"

	"github.com/nats-io/nats.go/jetstream"
)

// The trail is who changed what beside the log: definitions, access, charts of
// record, what was forgotten. It is a stream of its own, appended and never
// edited, because buckets keep only what stands now, and because the log is of
// games and travels to others.
const trailName = "TRAIL"

// TrailNote is one line of the trail.
type TrailNote struct {
	At    time.Time `json:"at"`
	Who   string    `json:"who"`             // a pass, or the account at the command line
	What  string    `json:"what"`            // one of the words callers agree on, such as access-granted
	About string    `json:"about,omitempty"` // what it was done to
	Text  string    `json:"text,omitempty"`
}

var trailWord = regexp.MustCompile(`^[a-z][a-z-]{0,40}$`)

// Note appends a line to the trail; it is safe when Note returns.
func (l *Ledger) Note(ctx context.Context, n TrailNote) error {
	s, ok := l.log.(*stream)
	switch {
	case l.readOnly:
		return explain("note "+n.What, ErrReadOnly)
	case !ok:
		return fmt.Errorf("note %s: %s keeps no trail", n.What, l)
	case !trailWord.MatchString(n.What):
		return fmt.Errorf("note %q: want a word of small letters and hyphens", n.What)
	}
	if n.At.IsZero() {
		n.At = time.Now().UTC()
	}
	text, err := json.Marshal(n)
	if err != nil {
		return err
	}
	if err := s.place.check(len(text)); err != nil {
		return explain("note "+n.What, err)
	}
	if _, err := s.trail(ctx, true); err != nil {
		return s.explain("open the trail", err)
	}
	err = s.writing(ctx, func(ctx context.Context) error {
		_, err := s.js.Publish(ctx, "trail."+n.What, text)
		return err
	})
	return s.explain("note "+n.What, err)
}

// Trail yields the trail from its beginning. A ledger without one has had
// nothing noted.
func (l *Ledger) Trail(ctx context.Context) iter.Seq2[TrailNote, error] {
	return func(yield func(TrailNote, error) bool) {
		s, ok := l.log.(*stream)
		if !ok {
			return
		}
		st, err := s.trail(ctx, false)
		if errors.Is(err, jetstream.ErrStreamNotFound) {
			return
		}
		if err != nil {
			yield(TrailNote{}, s.explain("read the trail", err))
			return
		}
		for seq := uint64(1); seq <= st.CachedInfo().State.LastSeq; seq++ {
			n, err := readNote(ctx, st, seq)
			if !yield(n, s.explain("read the trail", err)) || err != nil {
				return
			}
		}
	}
}

func readNote(ctx context.Context, st jetstream.Stream, seq uint64) (n TrailNote, err error) {
	m, err := st.GetMsg(ctx, seq)
	if err != nil {
		return n, fmt.Errorf("line %d: %w", seq, err)
	}
	if err := json.Unmarshal(m.Data, &n); err != nil {
		return n, fmt.Errorf("line %d: %w", seq, err)
	}
	return n, nil
}

func (s *stream) trail(ctx context.Context, make bool) (jetstream.Stream, error) {
	st, err := s.js.Stream(ctx, trailName)
	if !make || !errors.Is(err, jetstream.ErrStreamNotFound) {
		return st, err
	}
	st, err = s.js.CreateStream(ctx, jetstream.StreamConfig{
		Name:        trailName,
		Description: "who changed what beside the log",
		Subjects:    []string{"trail.*"},
		Storage:     jetstream.FileStorage,
		Replicas:    s.stream.CachedInfo().Config.Replicas,
		DenyDelete:  true,
		DenyPurge:   true,
	})
	if errors.Is(err, jetstream.ErrStreamNameAlreadyInUse) {
		return s.js.Stream(ctx, trailName)
	}
	return st, err
}
