package bus

import (
	"fmt"
	"sync"

	"github.com/rs/zerolog"
)

// serverLog turns the embedded server's log into ours: what it tells its own
// operator is debugging here, its warnings stay warnings. It remembers the last
// error, for the server's API often says less than its log.
type serverLog struct {
	log zerolog.Logger
	mu  sync.Mutex
	err string
}

func (s *serverLog) last() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.err
}

func (s *serverLog) failed(format string, v []any) {
	text := fmt.Sprintf(format, v...)
	s.mu.Lock()
	s.err = text
	s.mu.Unlock()
	s.log.Warn().Str("from", "embedded server").Msg(text)
}

func (s *serverLog) Noticef(format string, v ...any) { s.log.Debug().Msgf(format, v...) }
func (s *serverLog) Debugf(format string, v ...any)  { s.log.Debug().Msgf(format, v...) }
func (s *serverLog) Tracef(format string, v ...any)  { s.log.Trace().Msgf(format, v...) }
func (s *serverLog) Warnf(format string, v ...any) {
	s.log.Warn().Str("from", "embedded server").Msgf(format, v...)
}
func (s *serverLog) Errorf(format string, v ...any) { s.failed(format, v) }

// Fatalf does not end the process: a ledger that cannot be opened is an error
// to be told, and the caller sees that the server is not ready.
func (s *serverLog) Fatalf(format string, v ...any) { s.failed(format, v) }
