package bus

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// reserve is kept free on the disk, in bytes. The server gives its store up
// when a write meets a full disk and must be started anew; refusing a little
// earlier leaves it sound, and appending works again as soon as there is room.
var reserve int64 = 4 << 20

// place is the directory in which the server stores, when that is on this
// machine. It is looked at before every append: a server whose directory was
// removed goes on writing to files that nobody will find.
type place struct {
	dir  string
	lock os.FileInfo // of the lock file as it was when the ledger was opened
}

func placeOf(dir string) (*place, error) {
	info, err := os.Stat(filepath.Join(dir, lockFile))
	if err != nil {
		return nil, err
	}
	return &place{dir, info}, nil
}

// check says whether n more bytes may be stored. A nil place is elsewhere.
func (p *place) check(n int) error {
	if p == nil {
		return nil
	}
	if err := p.gone(); err != nil {
		return err
	}
	var disk syscall.Statfs_t
	if err := syscall.Statfs(p.dir, &disk); err != nil {
		return fmt.Errorf("%w: %w", ErrUnreachable, err)
	}
	// int64 on both sides: the fields' types differ between systems.
	if free := int64(disk.Bavail) * int64(disk.Bsize); free < reserve+int64(n) {
		return fmt.Errorf("%w: %d KB left on the disk of %s, of which %d KB are kept in reserve; make room and try again",
			ErrFull, free>>10, p.dir, reserve>>10)
	}
	return nil
}

// gone is an error if the directory was moved, removed or made anew.
func (p *place) gone() error {
	if p == nil {
		return nil
	}
	now, err := os.Stat(filepath.Join(p.dir, lockFile))
	if err == nil && os.SameFile(p.lock, now) {
		return nil
	}
	return fmt.Errorf("%w: the directory %s was moved or removed; put it back and open it again", ErrUnreachable, p.dir)
}
