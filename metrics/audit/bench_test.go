package audit_test

import (
	"testing"

	"stopledger/charting/synth"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// doubleCharted is a season of invented games, each charted twice.
func doubleCharted(tb testing.TB, games int) *replay.Season {
	tb.Helper()
	s, err := synth.New(synth.Options{Seed: 7, Games: games, DoubleCharted: 1})
	if err != nil {
		tb.Fatal(err)
	}
	season, err := replay.Fold(s.Events())
	if err != nil {
		tb.Fatal(err)
	}
	return season
}

func twoCharts(g *replay.Game) []*replay.Chart {
	return []*replay.Chart{g.Chart("main"), g.Chart("second")}
}

func BenchmarkAgreeOnOneGame(b *testing.B) {
	charts := twoCharts(doubleCharted(b, 1).Games[0])
	b.ReportMetric(float64(len(charts[0].Chances)), "chances")
	for b.Loop() {
		audit.Agree(charts, audit.Options{})
	}
}

func BenchmarkAlignOneGame(b *testing.B) {
	charts := twoCharts(doubleCharted(b, 1).Games[0])
	for b.Loop() {
		audit.Agree(charts, audit.Options{Resamples: -1})
	}
}

func BenchmarkAgreeOn300Games(b *testing.B) {
	season := doubleCharted(b, 300)
	for b.Loop() {
		for _, g := range season.Games {
			audit.Agree(twoCharts(g), audit.Options{})
		}
	}
}

func BenchmarkReview(b *testing.B) {
	g := doubleCharted(b, 1).Games[0]
	for b.Loop() {
		audit.Review(g, g.Charts[0], audit.Limits{})
	}
}
