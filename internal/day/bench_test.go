package day_test

import (
	"context"
	"fmt"
	"testing"

	"slabside/internal/day"
)

// BenchmarkSolve plans shop days of 6 to 12 boils, one after another; it also
// reports the states looked at and the share of days proved.
func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{6, 8, 10, 12} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			labels, proved, seed := 0, 0, uint64(0)
			for b.Loop() {
				plan, err := day.Solve(context.Background(), shopDay(seed%20, n), day.Options{})
				if err != nil {
					b.Fatal(err)
				}
				labels += plan.Labels
				if plan.ProvedBest {
					proved++
				}
				seed++
			}
			b.ReportMetric(float64(labels)/float64(seed), "states/op")
			b.ReportMetric(float64(proved)/float64(seed), "proved/op")
		})
	}
}
