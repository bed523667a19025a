package outline_test

import (
	"strings"
	"testing"

	"stopledger/charting/outline"
)

// BenchmarkCrowdedMoment reads the largest file taken, all of it in one
// moment, where every search has the most to look through.
func BenchmarkCrowdedMoment(b *testing.B) {
	for _, pattern := range []string{
		"1,5,A,foul,,,a1,,\n1,5,B,free-throw,no,1/1,b1,,\n1,5,B,rebound,,,b1,,\n",
		"1,5,A,shot-2,no,,a1,,\n1,5,A,rebound,,,a1,,\n1,5,B,rebound,,,,,team\n",
		"1,5,A,foul,,,a1,,offensive\n1,5,A,turnover,,,a1,,\n1,5,B,jump-ball,,,a1,,\n",
		"1,5,A,free-throw,no,1/2,a1,,\n1,5,B,rebound,,,,,team\n1,5,B,timeout,,,,,\n",
		"1,5,A,shot-2,no,,a1,,\n1,5,B,timeout,,,,,\n1,5,B,timeout,,,,,\n",
	} {
		b.Run(strings.Split(pattern, "\n")[0], func(b *testing.B) {
			text := header + strings.Repeat(pattern, 1660)
			for b.Loop() {
				feed, err := outline.Read(strings.NewReader(text))
				if err != nil {
					b.Fatal(err)
				}
				list, _, err := feed.Events(outline.Options{Game: "big", Rules: nba(b)})
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(len(list)), "events")
			}
		})
	}
}
