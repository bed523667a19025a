package replay

import (
	"errors"
	"runtime"
	"sort"
	"sync"

	"stopledger/events"
)

// foldAll folds many games on all processors; games do not touch one another.
func foldAll(bags map[events.Token]*bag) []*Game {
	ids := make([]events.Token, 0, len(bags))
	for id := range bags {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool { return ids[i] < ids[j] })
	games := make([]*Game, len(ids))
	var wg sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), len(ids)) {
		wg.Go(func() {
			for i := range next {
				games[i] = foldGame(bags[ids[i]])
			}
		})
	}
	for i := range ids {
		next <- i
	}
	close(next)
	wg.Wait()
	return games
}

func asLine(err error, line **events.LineError) bool { return errors.As(err, line) }
