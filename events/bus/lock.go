package bus

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// lockFile is never removed: removing it would let a third process lock a new
// file of that name while the second still waits for the old one.
const lockFile = "lock"

// lock is the right to run a server on a directory. It ends with the process.
type lock struct{ file *os.File }

var errHeld = errors.New("held by another process")

// takeLock takes the lock of a directory or returns errHeld.
func takeLock(dir string) (*lock, error) {
	path := filepath.Join(dir, lockFile)
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, explain("lock "+dir, err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, errHeld
		}
		return nil, fmt.Errorf("lock %s: %w; the file system must support locks", path, err)
	}
	if !sameFile(f, path) {
		f.Close()
		return nil, errHeld // the directory was moved away between open and lock
	}
	return &lock{f}, nil
}

func sameFile(f *os.File, path string) bool {
	ours, err := f.Stat()
	if err != nil {
		return false
	}
	there, err := os.Stat(path)
	return err == nil && os.SameFile(ours, there)
}

func (l *lock) release() { l.file.Close() }
