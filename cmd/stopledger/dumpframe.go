package main

import (
	"context"
	"io"

	"stopledger/events/bus"
	"stopledger/metrics/frame"
)

// dumpFrame writes one row for each action of the charts of record.
func (a *app) dumpFrame(ctx context.Context, l *bus.Ledger, w io.Writer) error {
	s, err := a.season(ctx, l)
	if err != nil {
		return err
	}
	f := frame.Of(s.columns)
	if s.invented {
		f.Mark = inventedNotice
	}
	if a.format == "parquet" {
		return f.WriteParquet(w)
	}
	return f.WriteCSV(w)
}
