package bus

import (
	"fmt"
	"syscall"
)

// reserve is kept free on the disk. The server shuts its store when a write
// meets a full disk and must be started anew; refusing a little earlier leaves
// it sound, and appending works again as soon as there is room.
const reserve = 4 << 20

// room says whether n more bytes may be stored on this machine's disk.
func (s *stream) room(n int) error {
	if s.dir == "" {
		return nil // the server's disk is elsewhere
	}
	var disk syscall.Statfs_t
	if err := syscall.Statfs(s.dir, &disk); err != nil {
		return fmt.Errorf("%w: %w", ErrUnreachable, err)
	}
	// int64 on both sides: the fields' types differ between systems.
	if free := int64(disk.Bavail) * int64(disk.Bsize); free < reserve+int64(n) {
		return fmt.Errorf("%w: %d KB left on the disk of %s, %d KB are kept in reserve; make room and try again",
			ErrFull, free>>10, s.dir, reserve>>10)
	}
	return nil
}
