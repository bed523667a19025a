package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"time"

	"github.com/rs/zerolog"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/web"
)

// A child is this program again, with its part in this variable.
const partVariable = "STOPLEDGER_TORTURE_PART"

// playPart plays a child's part, if this process is one. A child lives until
// its standard input ends, so that none outlives a killed parent.
func playPart() (played bool, err error) {
	part := os.Getenv(partVariable)
	if part == "" {
		return false, nil
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin)
		stop()
	}()
	args := os.Args[1:]
	switch part {
	case "serve":
		return true, serve(ctx, args[0], args[1])
	case "node":
		return true, playNode(ctx, args)
	case "load":
		return true, load(ctx, args[0], args[1])
	case "append":
		return true, appendLines(ctx, args[0], args[1])
	}
	return true, fmt.Errorf("no part %q", part)
}

// serve is the server that gets killed.
func serve(ctx context.Context, dir, address string) error {
	l, err := bus.Open(ctx, dir, bus.Options{Log: zerolog.New(os.Stderr).Level(zerolog.ErrorLevel)})
	if err != nil {
		return err
	}
	defer l.Close()
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return err
	}
	fmt.Println(listener.Addr())
	return web.New(web.Config{Ledger: l, Trail: l, Log: zerolog.Nop()}).Serve(ctx, listener)
}

func load(ctx context.Context, dir, path string) error {
	in, err := os.Open(path)
	if err != nil {
		return err
	}
	defer in.Close()
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	defer l.Close()
	_, err = l.Load(ctx, events.ReadLines(in), func(r bus.LoadReport) { fmt.Println(r.Added) })
	if err == nil {
		fmt.Println("done")
	}
	return err
}

// appendLines appends the events of a file one by one and says each id once it
// is safe.
func appendLines(ctx context.Context, dir, path string) error {
	in, err := os.Open(path)
	if err != nil {
		return err
	}
	defer in.Close()
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	defer l.Close()
	for e, err := range events.ReadLines(in) {
		if err != nil {
			return err
		}
		if _, err := l.Append(ctx, &e); err != nil {
			return err
		}
		fmt.Println(e.ID)
	}
	return nil
}

// child is a process with a part.
type child struct {
	cmd   *exec.Cmd
	stdin io.Closer
	lines *bufio.Scanner
	errs  strings.Builder
}

func start(part string, args ...string) (*child, error) {
	c := &child{cmd: exec.Command(os.Args[0], args...)}
	c.cmd.Env = append(os.Environ(), partVariable+"="+part)
	c.cmd.Stderr = &c.errs
	stdin, err := c.cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := c.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	c.stdin, c.lines = stdin, bufio.NewScanner(out)
	return c, c.cmd.Start()
}

// kill ends the child with SIGKILL, whatever it is doing.
func (c *child) kill() {
	_ = c.cmd.Process.Signal(syscall.SIGKILL)
	_ = c.cmd.Wait()
}

// stop asks it to end, and returns what it said on its standard error if it
// ended badly.
func (c *child) stop() error {
	c.stdin.Close()
	for c.lines.Scan() {
	}
	return c.ended()
}

func (c *child) ended() error {
	if err := c.cmd.Wait(); err != nil {
		return fmt.Errorf("%w: %s", err, strings.TrimSpace(c.errs.String()))
	}
	return nil
}

// host is a server that is started again whenever it was killed.
type host struct {
	dir     string
	address string
	now     *child
}

func (h *host) start() error {
	if h.address == "" {
		h.address = "127.0.0.1:0"
	}
	for try := 0; ; try++ {
		c, err := start("serve", h.dir, h.address)
		if err != nil {
			return err
		}
		if c.lines.Scan() {
			h.address, h.now = c.lines.Text(), c
			return nil
		}
		err = c.ended()
		// The port may still be held for a moment by the one that was killed.
		if try == 20 || err == nil || !strings.Contains(err.Error(), "address already in use") {
			return errors.Join(errors.New("the server does not start"), err)
		}
		time.Sleep(50 * time.Millisecond)
	}
}

// killAndStart is one turn of the screw.
func (h *host) killAndStart() error {
	h.now.kill()
	return h.start()
}
