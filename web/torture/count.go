package main

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"

	"stopledger/charting/synth"
	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
)

// season invents about n events, whole games of them.
func season(n int, seed uint64) ([]events.Event, error) {
	o := synth.Defaults()
	o.Seed, o.Games = seed, 3000
	s, err := synth.New(o)
	if err != nil {
		return nil, err
	}
	var out []events.Event
	for e, err := range s.Events() {
		if err != nil {
			return nil, err
		}
		if len(out) >= n && e.Game != out[len(out)-1].Game {
			break
		}
		out = append(out, e)
	}
	return out, nil
}

type desk struct{ game, chart, pad events.Token }

// byPad deals events out as they were charted, each pad's in its order.
func byPad(list []events.Event) [][]events.Event {
	place := make(map[desk]int)
	var out [][]events.Event
	for _, e := range list {
		k := desk{e.Game, e.Chart, e.Pad}
		i, ok := place[k]
		if !ok {
			i = len(out)
			place[k], out = i, append(out, nil)
		}
		out[i] = append(out[i], e)
	}
	for i := range out {
		slices.SortStableFunc(out[i], func(a, b events.Event) int { return int(a.N - b.N) })
	}
	return out
}

// notes makes n events of one pad that say nothing of a game.
func notes(game, pad events.Token, from, n int, recorded time.Time) []events.Event {
	out := make([]events.Event, n)
	for i := range out {
		e := events.Event{
			V: 1, ID: events.ID(uuid.Must(uuid.NewV7()).String()), Game: game, Chart: "main", Charter: "ana", Pad: pad, N: int64(from + i),
			Recorded: recorded.Add(time.Duration(i) * time.Second), Type: "noted", Body: &events.Noted{Text: fmt.Sprintf("note %d of %s", from+i, pad)},
		}
		if err := e.Seal(); err != nil {
			panic(err)
		}
		out[i] = e
	}
	return out
}

var evening = time.Date(2031, 1, 14, 19, 0, 0, 0, time.UTC)

// ask counts what became of events: those in sent may be there, those in acked
// must be. A findings count of the undisturbed fold is taken off.
func (r *row) ask(ctx context.Context, dir string, sent []events.Event, acked map[events.ID]bool) error {
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	defer l.Close()
	c, err := l.Inspect(ctx)
	if err != nil {
		return err
	}
	for _, f := range c.Faults {
		r.wrongf("the store at %d to %d: %s", f.From, f.To, f.What)
	}
	want := make(map[events.ID]string, len(sent))
	for _, e := range sent {
		want[e.ID] = string(e.Raw)
	}
	times, last := make(map[events.ID]int), make(map[desk]int64)
	live, undisturbed := replay.NewLive(), replay.NewLive()
	for e, err := range l.Read(ctx, 0) {
		if err != nil {
			return err
		}
		if want[e.ID] != string(e.Raw) {
			r.wrongf("event %s is not as it was sent", e.ID)
		}
		k := desk{e.Game, e.Chart, e.Pad}
		if times[e.ID]++; times[e.ID] > 1 {
			r.doubled++
		} else if e.N < last[k] {
			r.disordered++
		}
		last[k] = max(last[k], e.N)
		live.Add(e)
	}
	for id := range acked {
		if times[id] == 0 {
			r.lost++
		}
	}
	r.acked = len(acked)
	for _, e := range sent {
		if times[e.ID] > 0 {
			undisturbed.Add(e)
		}
	}
	r.findings = countFindings(live.Season()) - countFindings(undisturbed.Season())
	return nil
}

func countFindings(s *replay.Season) int {
	n := len(s.Findings)
	for _, g := range s.Games {
		n += len(g.Findings)
		for _, c := range g.Charts {
			n += len(c.Findings)
		}
	}
	return n
}
