package bus_test

import (
	"path/filepath"
	"testing"

	"stopledger/events/bus"
)

func TestLedgerInADirectory(t *testing.T) {
	suite(t, func(t *testing.T) *bus.Ledger {
		return open(t, filepath.Join(t.TempDir(), "made", "on", "opening"), bus.Options{})
	})
}
