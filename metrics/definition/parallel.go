package definition

import (
	"runtime"
	"sort"
	"sync"

	"stopledger/replay"
)

// span is a range of rows, the end left out.
type span struct{ from, to int }

// most workers; beyond this the memory is the limit.
const maxWorkers = 8

// spans cuts n rows into one range for each processor.
func spans(n int) []span {
	workers := min(runtime.GOMAXPROCS(0), maxWorkers, n/(4*block)+1)
	list := make([]span, workers)
	for i := range list {
		list[i] = span{n * i / workers, n * (i + 1) / workers}
	}
	return list
}

// gameSpans cuts the chances between games, so that no game is in two ranges.
func gameSpans(cols *replay.Columns) []span {
	n := cols.Chances.Rows
	var list []span
	from := 0
	for _, s := range spans(n) {
		to := s.to
		for to > 0 && to < n && cols.ChanceGame[to] == cols.ChanceGame[to-1] {
			to++
		}
		if to > from || n == 0 {
			list = append(list, span{from, to})
			from = to
		}
	}
	return list
}

// actionsOf is the range of actions that belongs to a range of chances.
func actionsOf(cols *replay.Columns, chances span) span {
	find := func(chance int) int {
		return sort.Search(len(cols.ActionChance), func(i int) bool { return int(cols.ActionChance[i]) >= chance })
	}
	return span{find(chances.from), find(chances.to)}
}

// inParallel runs the work for every range at once.
func inParallel(list []span, work func(i int, s span)) {
	if len(list) == 1 {
		work(0, list[0])
		return
	}
	var wait sync.WaitGroup
	for i, s := range list {
		wait.Go(func() { work(i, s) })
	}
	wait.Wait()
}
