package events_test

import (
	"testing"

	"stopledger/events"
)

// BenchmarkDecode reads one charted action. Decoding is most of the cost of
// reading a ledger.
func BenchmarkDecode(b *testing.B) {
	line := []byte(hitOnDownScreen)
	b.ReportAllocs()
	b.SetBytes(int64(len(line)))
	for b.Loop() {
		if _, err := events.DecodeOwned(line); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCheck is the gate's part of an append.
func BenchmarkCheck(b *testing.B) {
	e, err := events.Decode([]byte(hitOnDownScreen))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := events.Check(&e); err != nil {
			b.Fatal(err)
		}
	}
}
