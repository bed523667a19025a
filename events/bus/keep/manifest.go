package keep

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"stopledger/events/bus"
)

const (
	eventsFile      = "events.jsonl"
	positionsFile   = "positions.txt"
	peopleFile      = "people.jsonl"
	definitionsFile = "definitions.jsonl"
	trailFile       = "trail.jsonl"
	manifestFile    = "manifest.json"

	format = 1
)

var dataFiles = []string{eventsFile, positionsFile, peopleFile, definitionsFile, trailFile}

// Manifest is what a backup says of itself.
type Manifest struct {
	Format     int               `json:"format"`
	Ledger     string            `json:"ledger"` // its name when it was copied
	Made       time.Time         `json:"made"`
	Last       bus.Position      `json:"last"`   // the ledger's end as it was copied
	Events     int               `json:"events"` // lines of events.jsonl
	Unreadable []bus.Fault       `json:"unreadable,omitempty"`
	People     int               `json:"people"`
	SHA256     map[string]string `json:"sha256"` // of each other file
}

// ErrNoBackup: the folder holds none, or one that was not finished.
var ErrNoBackup = errors.New("no finished backup")

func readManifest(dir string) (Manifest, error) {
	var m Manifest
	text, err := os.ReadFile(filepath.Join(dir, manifestFile))
	if errors.Is(err, fs.ErrNotExist) {
		return m, fmt.Errorf("%s: %w: there is no %s, which is written last", dir, ErrNoBackup, manifestFile)
	}
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(text, &m); err != nil {
		return m, fmt.Errorf("%s: %w: read %s: %w", dir, ErrNoBackup, manifestFile, err)
	}
	if m.Format != format {
		return m, fmt.Errorf("%s: a backup of format %d; this program knows format %d", dir, m.Format, format)
	}
	return m, nil
}

func (m Manifest) write(dir string) error {
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	return replace(filepath.Join(dir, manifestFile), append(text, '\n'))
}

// replace writes a file whole or not at all.
func replace(path string, text []byte) error {
	f, err := os.OpenFile(path+".part", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(path+".part", path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

func hashFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}
