package pooled_test

import (
	"fmt"

	"stopledger/metrics/stats/pooled"
)

// Three groups, two items. The first group has three trials of item 0, all of
// them successes; nobody should believe in 100 %.
func Example() {
	data := pooled.Data{
		Own: []int{0, 0, 0}, OwnClasses: 1, Items: 2, Opposing: 1, Conditions: 1,
		Cells: []pooled.Cell{
			{Group: 0, Item: 0, Successes: 3, Trials: 3},
			{Group: 1, Item: 0, Successes: 22, Trials: 40},
			{Group: 1, Item: 1, Successes: 12, Trials: 30},
			{Group: 2, Item: 0, Successes: 17, Trials: 35},
			{Group: 2, Item: 1, Successes: 9, Trials: 25},
		},
	}
	fit, err := pooled.Fit(data, pooled.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	draws := fit.Draw(4000, 1)
	seen := pooled.Summarise(draws.Group(0).Seen(0, 0))
	fmt.Printf("three of three: %.1f give or take %.1f\n", seen.Mean, seen.SD)
	// Item 1 was never seen of group 0, and borrows from the others.
	unseen := pooled.Summarise(draws.Group(0).Rate(1, 0, 0))
	fmt.Printf("never seen: %.1f give or take %.1f\n", unseen.Mean, unseen.SD)
	// Output:
	// three of three: 0.6 give or take 0.1
	// never seen: 0.4 give or take 0.2
}

// A mixture of two items against a condition nobody has seen, for a group and for
// an exchangeable new one; draws are joint, so differences can be taken draw by
// draw.
func ExampleMember_Mix() {
	data := pooled.Data{
		Own: []int{0, 0}, OwnClasses: 1, Items: 2, Opposing: 1, Conditions: 1,
		Cells: []pooled.Cell{
			{Group: 0, Item: 0, Successes: 45, Trials: 60}, {Group: 0, Item: 1, Successes: 38, Trials: 60},
			{Group: 1, Item: 0, Successes: 24, Trials: 60}, {Group: 1, Item: 1, Successes: 20, Trials: 60},
		},
	}
	fit, err := pooled.Fit(data, pooled.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	draws := fit.Draw(4000, 7)
	ask := []pooled.Part{
		{Item: 0, Opposing: 0, Condition: pooled.Fresh, Share: 0.7, Shift: -0.2, ShiftSD: 0.15},
		{Item: 1, Opposing: 0, Condition: pooled.Fresh, Share: 0.3, Shift: -0.2, ShiftSD: 0.15},
	}
	var mixes [2][]float64
	for g := range mixes {
		if mixes[g], err = draws.Group(g).Mix(ask); err != nil {
			fmt.Println(err)
			return
		}
	}
	ahead := 0
	for i := range mixes[0] {
		if mixes[0][i] > mixes[1][i] {
			ahead++
		}
	}
	fresh, err := draws.NewGroup(0, 0).Mix(ask)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("the first is ahead in at least 95 % of draws:", float64(ahead) >= 0.95*float64(draws.N()))
	fmt.Println("a new group is in more doubt than the first:", pooled.Summarise(fresh).SD > pooled.Summarise(mixes[0]).SD)
	// Output:
	// the first is ahead in at least 95 % of draws: true
	// a new group is in more doubt than the first: true
}
