package bus_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"

	"stopledger/events"
	"stopledger/events/bus"
)

// The tests need other processes: to hold a lock, to be killed. The test binary
// starts itself with a part to play in this variable.
const partVariable = "STOPLEDGER_BUS_TEST_PART"

func TestMain(m *testing.M) {
	if part := os.Getenv(partVariable); part != "" {
		if err := play(part, os.Args[1:]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// play is the child's side. It says on standard output what it has done, one
// line at a time, and lives until its standard input ends.
func play(part string, args []string) error {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		io.Copy(io.Discard, os.Stdin)
		cancel()
	}()
	switch part {
	case "serve":
		return serveUntilTold(ctx, args[0])
	case "append":
		return appendUntilTold(ctx, args[0], args[1])
	case "load":
		return loadFile(ctx, args[0], args[1], false)
	case "load-and-wait":
		return loadFile(ctx, args[0], args[1], true)
	case "full":
		return fillDisk(ctx, args[0])
	case "full-unforeseen":
		return fillDiskUnforeseen(ctx, args[0])
	case "read-only":
		return readOnlyDisk(ctx, args[0])
	}
	return fmt.Errorf("no part %q", part)
}

func serveUntilTold(ctx context.Context, dir string) error {
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	fmt.Println("open")
	<-ctx.Done()
	return l.Close()
}

// appendUntilTold charts as a pad and prints each event once it is acknowledged.
func appendUntilTold(ctx context.Context, dir, pad string) error {
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	fmt.Println("open")
	for n := 1; ctx.Err() == nil; n++ {
		e := note("hbr-mil", pad, n)
		if _, err := l.Append(ctx, &e); err != nil && ctx.Err() == nil {
			return err
		} else if err == nil {
			fmt.Println(e.ID)
		}
	}
	return l.Close()
}

func loadFile(ctx context.Context, dir, path string, wait bool) error {
	in, err := os.Open(path)
	if err != nil {
		return err
	}
	defer in.Close()
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	fmt.Println("open")
	_, err = l.Load(ctx, events.ReadLines(in), func(r bus.LoadReport) { fmt.Println(r.Added) })
	if err != nil {
		return err
	}
	fmt.Println("done")
	if wait {
		<-ctx.Done()
	}
	return l.Close()
}

// child is another process with a part to play.
type child struct {
	t     testing.TB
	cmd   *exec.Cmd
	stdin io.Closer
	lines *bufio.Scanner
	err   strings.Builder
	once  sync.Once
}

func start(t testing.TB, part string, args ...string) *child {
	t.Helper()
	c := prepare(t, part, args...)
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.kill)
	return c
}

func prepare(t testing.TB, part string, args ...string) *child {
	t.Helper()
	c := &child{t: t, cmd: exec.Command(os.Args[0], args...)}
	c.cmd.Env = append(os.Environ(), partVariable+"="+part)
	c.cmd.Stderr = &c.err
	stdin, err := c.cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	c.stdin = stdin
	out, err := c.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	c.lines = bufio.NewScanner(out)
	return c
}

// says reads the child's next line; false at its end.
func (c *child) says() (string, bool) {
	ok := c.lines.Scan()
	return c.lines.Text(), ok
}

func (c *child) mustSay(want string) {
	c.t.Helper()
	if got, ok := c.says(); !ok || got != want {
		c.kill()
		c.t.Fatalf("the other process said %q, want %q; its errors: %s", got, want, c.err.String())
	}
}

// kill ends the child with SIGKILL, whatever it is doing.
func (c *child) kill() {
	c.once.Do(func() {
		c.cmd.Process.Signal(syscall.SIGKILL)
		c.cmd.Wait()
	})
}

// stop asks the child to end and waits for it.
func (c *child) stop() {
	c.t.Helper()
	c.once.Do(func() {
		c.stdin.Close()
		for c.lines.Scan() {
		}
		if err := c.cmd.Wait(); err != nil {
			c.t.Errorf("the other process: %v: %s", err, c.err.String())
		}
	})
}
