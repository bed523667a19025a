package bus

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"

	"github.com/rs/zerolog"
)

// serverLog turns the embedded server's log into ours: what it tells its own
// operator is debugging here, its warnings stay warnings. It also listens: a
// publish whose write fails is never answered, the server only logs it and then
// refuses to write until it is started again.
type serverLog struct {
	log  zerolog.Logger
	mu   sync.Mutex
	last string

	// writing ends, with the reason as its cause, when a write has failed.
	writing context.Context
	failed  context.CancelCauseFunc
}

func newServerLog(log zerolog.Logger) *serverLog {
	s := &serverLog{log: log}
	s.writing, s.failed = context.WithCancelCause(context.Background())
	return s
}

// writeFailures are how the server words a failed write. Should it change its
// words, an append still fails, by its time limit.
var writeFailures = []string{"Critical write error", "failed to store a msg"}

func (s *serverLog) error(format string, v []any) {
	text := fmt.Sprintf(format, v...)
	s.mu.Lock()
	s.last = text
	s.mu.Unlock()
	s.log.Warn().Str("from", "embedded server").Msg(text)
	for _, words := range writeFailures {
		if strings.Contains(text, words) {
			s.failed(explain("the embedded server could not write", errors.New(text)))
		}
	}
}

// lastError is the last error logged.
func (s *serverLog) lastError() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.last
}

func (s *serverLog) Noticef(format string, v ...any) { s.log.Debug().Msgf(format, v...) }
func (s *serverLog) Debugf(format string, v ...any)  { s.log.Debug().Msgf(format, v...) }
func (s *serverLog) Tracef(format string, v ...any)  { s.log.Trace().Msgf(format, v...) }
func (s *serverLog) Warnf(format string, v ...any) {
	s.log.Warn().Str("from", "embedded server").Msgf(format, v...)
}
func (s *serverLog) Errorf(format string, v ...any) { s.error(format, v) }

// Fatalf does not end the process: a ledger that cannot be opened is an error
// to be told, and the caller sees that the server is not ready.
func (s *serverLog) Fatalf(format string, v ...any) { s.error(format, v) }
