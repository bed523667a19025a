package pooled

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"
)

// everything is every combination of groups, 12 items, 3 classes and 5 conditions.
func everything(groups int) Data {
	rng := rand.New(rand.NewPCG(9, uint64(groups)))
	return size{groups, 12, 3, 5, 1, 2}.drawAt(rng, [families]float64{0.2, 0.4, 0.3, 0.2, 0.2}).data
}

func BenchmarkFit(b *testing.B) {
	for _, groups := range []int{50, 500, 5000} {
		data := everything(groups)
		b.Run(fmt.Sprintf("groups=%d", groups), func(b *testing.B) {
			for b.Loop() {
				if _, err := Fit(data, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/float64(groups)*1e3, "ms/group")
		})
	}
}

func BenchmarkSeenCells(b *testing.B) {
	fit, err := Fit(everything(500), Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		fit.Draw(1000, 1).SeenCells(runtime.GOMAXPROCS(0))
	}
}

func BenchmarkRefit(b *testing.B) {
	for _, groups := range []int{50, 500} {
		data := everything(groups)
		first, err := Fit(data, Options{})
		if err != nil {
			b.Fatal(err)
		}
		next := someMore(data, 10)
		b.Run(fmt.Sprintf("groups=%d", groups), func(b *testing.B) {
			for b.Loop() {
				if _, err := Fit(next, Options{Start: first}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
