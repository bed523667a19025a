package bus

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"sync"
)

const socketFile = "ledger.sock"

// longestSocketPath is what every Unix takes in a socket address (macOS: 104
// bytes with the closing zero).
const longestSocketPath = 103

// shortWay calls do with a path to dir that is short enough for a socket in
// it, through a symbolic link in a private temporary folder if need be.
func shortWay(dir, name string, do func(path string) error) error {
	path := filepath.Join(dir, name)
	if len(path) <= longestSocketPath {
		return do(path)
	}
	abs, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	tmp, err := os.MkdirTemp("", "ledger")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	link := filepath.Join(tmp, "d")
	if err := os.Symlink(abs, link); err != nil {
		return err
	}
	path = filepath.Join(link, name)
	if len(path) > longestSocketPath {
		return fmt.Errorf("%s and the temporary folder %s are both too long for a socket's address; set TMPDIR to a short path", dir, os.TempDir())
	}
	return do(path)
}

// dialSocket connects to the process that serves the directory.
func dialSocket(ctx context.Context, dir string) (conn net.Conn, err error) {
	err = shortWay(dir, socketFile, func(path string) error {
		conn, err = new(net.Dialer).DialContext(ctx, "unix", path)
		return err
	})
	return conn, err
}

// listenSocket opens the directory's socket for its owner alone. It is made in
// a private folder and then moved into place, so that there is no moment in
// which others could connect, and a stale socket is replaced.
func listenSocket(dir string) (net.Listener, error) {
	private, err := os.MkdirTemp(dir, ".s")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(private)
	var l *net.UnixListener
	err = shortWay(private, "s", func(path string) error {
		l, err = net.ListenUnix("unix", &net.UnixAddr{Name: path, Net: "unix"})
		return err
	})
	if err != nil {
		return nil, err
	}
	l.SetUnlinkOnClose(false)
	made := filepath.Join(private, "s")
	if err := errors.Join(os.Chmod(made, 0o600), os.Rename(made, filepath.Join(dir, socketFile))); err != nil {
		l.Close()
		return nil, err
	}
	return l, nil
}

// bridge joins every connection to the socket with one into the server.
type bridge struct {
	listener net.Listener
	wait     sync.WaitGroup
	mu       sync.Mutex
	open     map[net.Conn]struct{}
	closed   bool
}

func serveSocket(dir string, inside func() (net.Conn, error)) (*bridge, error) {
	l, err := listenSocket(dir)
	if err != nil {
		return nil, err
	}
	b := &bridge{listener: l, open: make(map[net.Conn]struct{})}
	b.wait.Go(func() {
		for {
			outer, err := l.Accept()
			if err != nil {
				return
			}
			b.wait.Go(func() { b.join(outer, inside) })
		}
	})
	return b, nil
}

func (b *bridge) join(outer net.Conn, inside func() (net.Conn, error)) {
	defer outer.Close()
	inner, err := inside()
	if err != nil {
		return
	}
	defer inner.Close()
	if !b.hold(outer) {
		return
	}
	defer b.drop(outer)
	// Whichever side ends first ends both.
	var both sync.WaitGroup
	both.Go(func() { io.Copy(inner, outer); inner.Close() })
	both.Go(func() { io.Copy(outer, inner); outer.Close() })
	both.Wait()
}

func (b *bridge) hold(c net.Conn) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed {
		return false
	}
	b.open[c] = struct{}{}
	return true
}

func (b *bridge) drop(c net.Conn) {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.open, c)
}

// close hangs up on everybody. The caller removes the socket's file while it
// still holds the lock.
func (b *bridge) close() {
	b.listener.Close()
	b.mu.Lock()
	b.closed = true
	for c := range b.open {
		c.Close()
	}
	b.mu.Unlock()
	b.wait.Wait()
}
