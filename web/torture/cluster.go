package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/rs/zerolog"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/events/bus/node"
)

// keeper is one of a cluster's servers, in a process of its own.
type keeper struct {
	name string
	args []string
	now  *child
}

func (k *keeper) start() error {
	c, err := start("node", k.args...)
	if err != nil {
		return err
	}
	if k.now = c; !c.lines.Scan() {
		return errors.Join(fmt.Errorf("%s does not start", k.name), c.ended())
	}
	return nil
}

// playNode is a keeper's own side: name, directory, address, cluster address,
// and those of the others.
func playNode(ctx context.Context, args []string) error {
	n, err := node.Start(node.Options{
		Name: args[0], Dir: args[1], Listen: args[2], Cluster: "torture", ClusterListen: args[3], Routes: args[4:], Log: zerolog.Nop(),
	})
	if err != nil {
		return err
	}
	defer n.Close()
	fmt.Println(n.URL())
	<-ctx.Done()
	return nil
}

// freeAddresses finds n ports of loopback that nobody has at the moment.
func freeAddresses(n int) ([]string, error) {
	var out []string
	for range n {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			return nil, err
		}
		defer l.Close()
		out = append(out, l.Addr().String())
	}
	return out, nil
}

func startCluster(dir string) (keepers []*keeper, url string, err error) {
	free, err := freeAddresses(6)
	if err != nil {
		return nil, "", err
	}
	for i := range 3 {
		k := &keeper{name: fmt.Sprint("n", i+1)}
		k.args = append([]string{k.name, filepath.Join(dir, k.name), free[i]}, free[3+i])
		for j := range 3 {
			if j != i {
				k.args = append(k.args, free[3+j])
			}
		}
		keepers = append(keepers, k)
		if err := k.start(); err != nil {
			return keepers, "", err
		}
	}
	return keepers, "nats://" + strings.Join(free[:3], ",nats://"), nil
}

// leaderKilled has pads chart over two servers of one three-node cluster while
// the node that leads the ledger is killed again and again.
func leaderKilled(ctx context.Context, dir string, s size, r *row) error {
	keepers, url, err := startCluster(dir)
	defer func() {
		for _, k := range keepers {
			if k.now != nil {
				k.now.kill()
			}
		}
	}()
	if err != nil {
		return err
	}
	l, err := openCluster(ctx, url)
	if err != nil {
		return err
	}
	defer l.Close()
	hosts := []*host{{dir: url}, {dir: url}}
	for _, h := range hosts {
		if err := h.start(); err != nil {
			return err
		}
	}
	var count atomic.Int64
	var pads []*pad
	var sent []events.Event
	for i := range padsAtOnce {
		list := notes("hbr-mil", events.Token(fmt.Sprint("p", i)), 1, s.of(1250, 60), evening)
		pads, sent = append(pads, newPad(hosts[i%2].address, list, &count)), append(sent, list...)
	}
	ended := make(chan struct{})
	errs := make([]error, len(pads))
	var all sync.WaitGroup
	for i, p := range pads {
		p.slow = 2 * time.Millisecond
		all.Go(func() { errs[i] = p.chart(ctx) })
	}
	go func() { all.Wait(); close(ended) }()
	longest, err := killLeaders(ctx, l, keepers, s.of(12, 1), len(sent), &count, ended, r)
	if err != nil {
		return err
	}
	<-ended
	r.note = fmt.Sprintf("two servers, three nodes; longest pause %.1f s", longest.Seconds())
	acked := make(map[events.ID]bool)
	for _, p := range pads {
		for id := range p.acked {
			acked[id] = true
		}
	}
	if len(acked) != len(sent) {
		r.wrongf("%d of %d events were acknowledged", len(acked), len(sent))
	}
	for _, h := range hosts {
		errs = append(errs, h.now.stop())
	}
	return errors.Join(append(errs, r.ask(ctx, url, sent, acked))...)
}

// openCluster waits until the cluster has chosen who leads.
func openCluster(ctx context.Context, url string) (*bus.Ledger, error) {
	for try := 0; ; try++ {
		l, err := bus.Open(ctx, url, bus.Options{Replicas: 3})
		if err == nil || try == 60 {
			return l, err
		}
		time.Sleep(500 * time.Millisecond)
	}
}

// killLeaders kills whoever leads, waits until pads chart again, and starts it
// anew. It returns the longest time in which nothing was acknowledged.
func killLeaders(ctx context.Context, l *bus.Ledger, keepers []*keeper, times, n int, count *atomic.Int64, ended <-chan struct{}, r *row) (longest time.Duration, err error) {
	for i := range times {
		moment := int64(n * (i + 1) / (times + 1))
		for count.Load() < moment {
			select {
			case <-ended:
				return longest, nil
			case <-ctx.Done():
				return longest, ctx.Err()
			case <-time.After(time.Millisecond):
			}
		}
		leader, err := l.Leader(ctx)
		for try := 0; err != nil && try < 100; try++ {
			time.Sleep(100 * time.Millisecond)
			leader, err = l.Leader(ctx)
		}
		for _, k := range keepers {
			if k.name != leader {
				continue
			}
			before, began := count.Load(), time.Now()
			k.now.kill()
			r.times++
			for count.Load() < before+2*padsAtOnce*flight && count.Load() < int64(n) && time.Since(began) < time.Minute {
				time.Sleep(time.Millisecond)
			}
			longest = max(longest, time.Since(began))
			if err := k.start(); err != nil {
				return longest, err
			}
		}
	}
	return longest, nil
}
