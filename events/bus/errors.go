package bus

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// What may go wrong with a ledger, for errors.Is. The message says more.
var (
	// ErrLocked: another process holds the directory and does not answer on its
	// socket.
	ErrLocked = errors.New("ledger is locked")
	// ErrReadOnly: the ledger, or the directory it is in, cannot be written to.
	ErrReadOnly = errors.New("ledger is read-only")
	// ErrFull: no room on the disk or in the server's account. What was
	// acknowledged is kept; appending works again once there is room.
	ErrFull = errors.New("no room for the ledger")
	// ErrUnreachable: the server, the serving process or the directory is gone or
	// does not answer. An event appended meanwhile may or may not be stored;
	// append it again.
	ErrUnreachable = errors.New("ledger cannot be reached")
	// ErrConflict: the value has another revision than the caller last saw.
	ErrConflict = errors.New("changed by somebody else")
	// ErrNotFound: no such ledger, or no such key.
	ErrNotFound = errors.New("not found")
	// ErrDamaged: a stored message is missing or is not the event that was
	// stored.
	ErrDamaged = errors.New("ledger is damaged")
	// ErrClosed: the ledger was closed.
	ErrClosed = errors.New("ledger is closed")
)

// kindOf finds which of the kinds above an error of the server, the client or
// the file system is; nil for none.
func kindOf(err error) error {
	var api *jetstream.APIError
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT),
		strings.Contains(err.Error(), "no space left"), strings.Contains(err.Error(), "quota exceeded"):
		return ErrFull
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return ErrReadOnly
	case errors.As(err, &api):
		return kindOfAPI(api)
	case errors.Is(err, nats.ErrAuthorization), errors.Is(err, nats.ErrPermissionViolation):
		return nil
	case errors.Is(err, nats.ErrTimeout), errors.Is(err, context.DeadlineExceeded), isOffline(err):
		return ErrUnreachable
	}
	return nil
}

func kindOfAPI(api *jetstream.APIError) error {
	switch {
	case api.ErrorCode == jetstream.JSErrCodeStreamWrongLastSequence:
		return ErrConflict
	case strings.Contains(api.Description, "insufficient resources"),
		strings.Contains(api.Description, "resource limits exceeded"),
		strings.Contains(api.Description, "maximum bytes exceeded"):
		return ErrFull
	case api.Code == 503:
		return ErrUnreachable
	}
	return nil
}

// isOffline reports whether the connection, not the request, is at fault.
func isOffline(err error) bool {
	for _, e := range []error{nats.ErrConnectionClosed, nats.ErrNoServers, nats.ErrDisconnected,
		nats.ErrReconnectBufExceeded, nats.ErrNoResponders, nats.ErrConnectionReconnecting, nats.ErrStaleConnection,
		jetstream.ErrNoStreamResponse, jetstream.ErrJetStreamNotEnabled, syscall.ECONNREFUSED, syscall.ECONNRESET, syscall.EPIPE} {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

// explain wraps an error with what was being done and the kind it is.
func explain(doing string, err error) error {
	if err == nil {
		return nil
	}
	kind := kindOf(err)
	if kind == nil || errors.Is(err, kind) {
		return fmt.Errorf("%s: %w", doing, err)
	}
	return fmt.Errorf("%s: %w: %w", doing, kind, err)
}
