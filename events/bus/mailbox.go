package bus

import (
	"context"
	"sync"

	"github.com/nats-io/nats.go/jetstream"
)

// mailbox passes messages from the connection to a reader, as many at a time as
// have come: a channel would cost a tenth of a reading's time.
type mailbox struct {
	mu       sync.Mutex
	messages []jetstream.Msg
	come     chan struct{} // holds a value when there are messages
	taken    chan struct{} // holds a value when there is room
}

// mailboxSize is how many messages may wait; the connection then waits too.
const mailboxSize = 8 * chunkSize

func newMailbox() *mailbox {
	return &mailbox{come: make(chan struct{}, 1), taken: make(chan struct{}, 1)}
}

func (b *mailbox) put(ctx context.Context, m jetstream.Msg) {
	b.mu.Lock()
	b.messages = append(b.messages, m)
	n := len(b.messages)
	b.mu.Unlock()
	if n == 1 {
		signal(b.come)
	}
	if n >= mailboxSize {
		select {
		case <-b.taken:
		case <-ctx.Done():
		}
	}
}

// take waits for messages and returns all there are; nil when ctx has ended.
func (b *mailbox) take(ctx context.Context) []jetstream.Msg {
	select {
	case <-b.come:
	case <-ctx.Done():
		return nil
	}
	b.mu.Lock()
	all := b.messages
	b.messages = make([]jetstream.Msg, 0, chunkSize)
	b.mu.Unlock()
	if len(all) >= mailboxSize {
		signal(b.taken)
	}
	return all
}

func signal(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}
