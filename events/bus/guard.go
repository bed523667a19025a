package bus

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"stopledger/events"
)

// The server cuts a file off at the first record it cannot read and so loses
// every sound one behind it, up to 8 MB of acknowledged events for one flipped
// bit; and where the bit is in a record's sequence it may believe it, and fill
// the memory with the 10^15 messages that seem to be missing before it. So the
// guard reads the files before the server does, sets aside a copy of any with a
// hole in it, and closes the hole: to the server the damaged record is a
// deleted one, and those behind it stay where they are. Once the server runs,
// whatever it did lose is stored again from the copy, at new positions.

// aside is the folder of the copies. Each has a note of the same name that ends
// in .json.
const aside = "damaged"

// guardBytes is how much of the newest files the guard reads at each opening:
// under a second, a season or two. Older files are left to Inspect's reading.
const guardBytes = 1 << 30

// blockNote is what is known of a damaged file that was set aside.
type blockNote struct {
	File     string    `json:"file"` // the copy
	Block    int       `json:"block"`
	Found    time.Time `json:"found"`
	Gaps     []gap     `json:"gaps"`
	Restored bool      `json:"restored"` // the events behind the gaps are in the ledger again
}

// guard looks through the store of a directory that no server has open. It
// fails if a damaged file cannot be copied: opening would destroy it.
func guard(dir string, log zerolog.Logger) error {
	folder := filepath.Join(dir, storeFolder, "$G", "streams", streamName, "msgs")
	blocks, err := newestBlocks(folder)
	if err != nil {
		return err
	}
	readable := 0
	var notes []blockNote
	for i, index := range blocks {
		text, err := os.ReadFile(blockPath(folder, index))
		if err != nil {
			return err
		}
		gaps, err := walkBlock(index, text, func(Position, []byte) { readable++ })
		if err != nil {
			return err
		}
		// A torn record at the end of the last file is a write that was cut short
		// and never acknowledged.
		if n := len(gaps); n > 0 && i == len(blocks)-1 && gaps[n-1].Before == 0 {
			gaps = gaps[:n-1]
		}
		if len(gaps) > 0 {
			notes = append(notes, blockNote{Block: index, Gaps: gaps})
		}
	}
	if readable == 0 || len(notes) == 0 {
		return nil // nothing stored, or files of a kind the guard does not know
	}
	known, err := blockNotes(dir)
	if err != nil {
		return err
	}
	for _, n := range notes {
		// The server leaves some damaged records where they are.
		if slices.ContainsFunc(known, func(k blockNote) bool { return k.Block == n.Block && slices.Equal(k.Gaps, n.Gaps) }) {
			continue
		}
		if err := setAside(dir, folder, n); err != nil {
			return fmt.Errorf("copy damaged file %s aside, for the server would cut it off: %w", blockPath(folder, n.Block), err)
		}
		log.Warn().Str("ledger", dir).Int("file", n.Block).Any("gaps", n.Gaps).Msg("a file of the store is damaged; its copy is set aside")
	}
	return nil
}

func blockPath(folder string, index int) string {
	return filepath.Join(folder, strconv.Itoa(index)+".blk")
}

// newestBlocks lists the store's files, oldest first, within guardBytes.
func newestBlocks(folder string) ([]int, error) {
	entries, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	size := make(map[int]int64)
	var all []int
	for _, e := range entries {
		index, err := strconv.Atoi(strings.TrimSuffix(e.Name(), ".blk"))
		info, infoErr := e.Info()
		if err != nil || infoErr != nil {
			continue
		}
		all, size[index] = append(all, index), info.Size()
	}
	slices.Sort(all)
	var sum int64
	first := len(all)
	for first > 0 && sum < guardBytes {
		first--
		sum += size[all[first]]
	}
	return all[first:], nil
}

func setAside(dir, folder string, n blockNote) error {
	if err := os.MkdirAll(filepath.Join(dir, aside), 0o700); err != nil {
		return err
	}
	text, err := os.ReadFile(blockPath(folder, n.Block))
	if err != nil {
		return err
	}
	n.Found = time.Now().UTC()
	n.File = fmt.Sprintf("%s-%d.blk", n.Found.Format("20060102-150405"), n.Block)
	if err := writeSynced(filepath.Join(dir, aside, n.File), text); err != nil {
		return err
	}
	if err := n.write(dir); err != nil {
		return err
	}
	return mend(folder, n, text)
}

// mend closes the holes of a block of which a copy was set aside. The server's
// index of its files goes: it is made anew from them.
func mend(folder string, n blockNote, block []byte) error {
	whole := make([]byte, 0, len(block))
	from := 0
	for _, g := range n.Gaps {
		whole = append(whole, block[from:g.FromByte]...)
		from = g.ToByte
	}
	whole = append(whole, block[from:]...)
	if err := os.Remove(filepath.Join(folder, "index.db")); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return writeSynced(blockPath(folder, n.Block), whole)
}

func (n blockNote) write(dir string) error {
	text, err := json.MarshalIndent(n, "", "  ")
	if err != nil {
		return err
	}
	return writeSynced(filepath.Join(dir, aside, strings.TrimSuffix(n.File, ".blk")+".json"), append(text, '\n'))
}

// writeSynced writes a file whole or not at all.
func writeSynced(path string, text []byte) error {
	f, err := os.OpenFile(path+".part", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(path+".part", path)
}

// blockNotes reads the notes of what was set aside, oldest first.
func blockNotes(dir string) ([]blockNote, error) {
	paths, err := filepath.Glob(filepath.Join(dir, aside, "*.json"))
	if err != nil {
		return nil, err
	}
	slices.Sort(paths)
	notes := make([]blockNote, 0, len(paths))
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		var n blockNote
		if err := json.Unmarshal(text, &n); err != nil {
			return nil, fmt.Errorf("read %s: %w", path, err)
		}
		notes = append(notes, n)
	}
	return notes, nil
}

// sound yields the events of the copy that can be read.
func (n blockNote) sound(dir string) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		text, err := os.ReadFile(filepath.Join(dir, aside, n.File))
		if err != nil {
			yield(events.Event{}, err)
			return
		}
		going := true
		_, err = walkBlock(n.Block, text, func(at Position, message []byte) {
			if !going {
				return
			}
			e, err := events.DecodeOwned(bytes.Clone(message))
			if err != nil {
				err = &events.LineError{Line: int(at), Err: err}
			}
			going = yield(e, err)
		})
		if err != nil && going {
			yield(events.Event{}, err)
		}
	}
}

// faults says for a person what the gaps mean.
func (n blockNote) faults() []Fault {
	var out []Fault
	for _, g := range n.Gaps {
		f := Fault{From: g.After + 1, To: max(g.After+1, g.Before-1)}
		f.What = fmt.Sprintf("bytes %d to %d of store file %d were found damaged on %s; the file as it was is kept as %s/%s",
			g.FromByte, g.ToByte, n.Block, n.Found.Format(time.RFC3339), aside, n.File)
		if n.Restored {
			f.What += "; the sound events behind the damage were stored again at the end of the ledger"
		}
		out = append(out, f)
	}
	return out
}
