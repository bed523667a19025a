// Package rulebook keeps the definitions of a ledger: every version that was
// saved, under its hash; which versions a name has had; and which one is in
// force, with the trail of who chose what and why.
//
// Three kinds of keys share the bucket:
//
//	<hash>        the file, as it was written
//	names/<name>  the versions of that name, oldest first
//	in-force      the trail, oldest first; its last choice is in force
//
// A definition that does not read, or that its own worked examples contradict,
// is refused, so the last good one stays in force whatever anybody types.
package rulebook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"stopledger/events/bus"
	"stopledger/metrics/definition"
)

// ErrShippedName is wrapped when a definition that comes with the program
// would get a second meaning.
var ErrShippedName = errors.New("the name belongs to a definition that comes with the program")

// Book is the definitions of one ledger. A Book of no bucket holds the shipped
// ones and cannot be written to.
type Book struct{ bucket bus.Bucket }

// Version is one saved version of a name.
type Version struct {
	Hash  string    `json:"hash"`
	Saved time.Time `json:"saved"`
	By    string    `json:"by,omitempty"`
	Note  string    `json:"note,omitempty"`
}

// Named is a name with its versions, oldest first. A shipped definition has
// one, never saved by anybody.
type Named struct {
	Name     string    `json:"name"`
	About    string    `json:"about"`
	Shipped  bool      `json:"shipped,omitempty"`
	Versions []Version `json:"versions"`
}

// Choice is one entry of the trail.
type Choice struct {
	Name string    `json:"name"`
	Hash string    `json:"hash"`
	At   time.Time `json:"at"`
	By   string    `json:"by,omitempty"`
	Why  string    `json:"why,omitempty"`
}

const inForceKey = "in-force"

// Over is the book kept in a bucket; nil gives one that holds only what comes
// with the program.
func Over(bucket bus.Bucket) *Book { return &Book{bucket} }

// Open is the book of a ledger, whichever kind it is. Where the ledger keeps no
// definitions, such as a file, it holds the shipped ones.
func Open(ctx context.Context, l interface {
	Bucket(context.Context, bus.BucketName) (bus.Bucket, error)
}) (*Book, error) {
	bucket, err := l.Bucket(ctx, bus.Definitions)
	switch {
	case errors.Is(err, bus.ErrNotFound) || errors.Is(err, bus.ErrReadOnly):
		return Over(nil), nil
	case err != nil:
		return nil, fmt.Errorf("open the definitions: %w", err)
	}
	return Over(bucket), nil
}

// Keeps reports whether anything can be saved in it.
func (b *Book) Keeps() bool { return b.bucket != nil }

// Save keeps a definition as the newest version of its name and returns it. A
// text that means the same as the newest version replaces its comments and
// layout only. The error is definition.Problems where the text is refused.
func (b *Book) Save(ctx context.Context, text []byte, by string, note string, now time.Time) (*definition.Definition, error) {
	d, err := definition.Load("", text)
	if err != nil {
		return nil, err
	}
	if _, shipped := definition.ShippedText(d.Name); shipped {
		return nil, fmt.Errorf("%q: %w; give yours another", d.Name, ErrShippedName)
	}
	if b.bucket == nil {
		return nil, fmt.Errorf("save %s: this ledger keeps no definitions: %w", d.Name, bus.ErrReadOnly)
	}
	if _, err := b.bucket.Put(ctx, d.Hash(), text, bus.AnyRevision); err != nil {
		return nil, fmt.Errorf("save %s: %w", d.Name, err)
	}
	var n Named
	err = b.change(ctx, "names/"+d.Name, &n, func() bool {
		n.Name, n.About = d.Name, d.About
		if k := len(n.Versions); k > 0 && n.Versions[k-1].Hash == d.Hash() {
			return false
		}
		n.Versions = append(n.Versions, Version{Hash: d.Hash(), Saved: now.UTC(), By: by, Note: note})
		return true
	})
	return d, err
}

// Choose puts a version in force from now on. The trail keeps who and why.
func (b *Book) Choose(ctx context.Context, hash string, by string, why string, now time.Time) (Choice, error) {
	d, err := b.Definition(ctx, hash)
	if err != nil {
		return Choice{}, err
	}
	if b.bucket == nil {
		return Choice{}, fmt.Errorf("choose %s: this ledger keeps no definitions: %w", d.Name, bus.ErrReadOnly)
	}
	choice := Choice{Name: d.Name, Hash: d.Hash(), At: now.UTC(), By: by, Why: why}
	var trail []Choice
	err = b.change(ctx, inForceKey, &trail, func() bool { trail = append(trail, choice); return true })
	return choice, err
}

// change reads a record, lets it be changed, and writes it back, again if
// somebody else was quicker.
func (b *Book) change(ctx context.Context, key string, record any, change func() bool) error {
	for range 8 {
		was, err := b.read(ctx, key, record)
		if err != nil {
			return err
		}
		if !change() {
			return nil
		}
		text, err := json.Marshal(record)
		if err != nil {
			return err
		}
		if _, err = b.bucket.Put(ctx, key, text, was); !errors.Is(err, bus.ErrConflict) {
			return err
		}
	}
	return fmt.Errorf("write %s: %w; try again", key, bus.ErrConflict)
}

func (b *Book) read(ctx context.Context, key string, record any) (bus.Revision, error) {
	if b.bucket == nil {
		return bus.NoRevision, nil
	}
	v, err := b.bucket.Get(ctx, key)
	if errors.Is(err, bus.ErrNotFound) {
		return bus.NoRevision, nil
	}
	if err != nil {
		return bus.NoRevision, fmt.Errorf("read %s: %w", key, err)
	}
	if err := json.Unmarshal(v.Bytes, record); err != nil {
		return bus.NoRevision, fmt.Errorf("read %s: %w", key, err)
	}
	return v.Revision, nil
}

// Trail lists every choice, oldest first.
func (b *Book) Trail(ctx context.Context) ([]Choice, error) {
	trail := []Choice{}
	_, err := b.read(ctx, inForceKey, &trail)
	return trail, err
}

// InForce is the definition in force: the last choice that this program can
// read, or the default where nobody chose.
func (b *Book) InForce(ctx context.Context) (*definition.Definition, error) {
	trail, err := b.Trail(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range slices.Backward(trail) {
		if d, err := b.Definition(ctx, c.Hash); err == nil {
			return d, nil
		}
	}
	return definition.Default(), nil
}

// Text is a version's file, as it was written.
func (b *Book) Text(ctx context.Context, hash string) ([]byte, error) {
	for _, d := range definition.Shipped() {
		if d.Hash() == hash {
			text, _ := definition.ShippedText(d.Name)
			return []byte(text), nil
		}
	}
	if b.bucket == nil || !isHash(hash) {
		return nil, fmt.Errorf("definition %s: %w", hash, bus.ErrNotFound)
	}
	v, err := b.bucket.Get(ctx, hash)
	if err != nil {
		return nil, fmt.Errorf("definition %s: %w", hash, err)
	}
	return v.Bytes, nil
}

func isHash(text string) bool {
	return len(text) == 64 && strings.Trim(text, "0123456789abcdef") == ""
}

// Definition is a version by its hash.
func (b *Book) Definition(ctx context.Context, hash string) (*definition.Definition, error) {
	text, err := b.Text(ctx, hash)
	if err != nil {
		return nil, err
	}
	return definition.Load("", text)
}

// ByName is the newest version of a name.
func (b *Book) ByName(ctx context.Context, name string) (*definition.Definition, error) {
	if d, err := definition.ByName(name); err == nil {
		return d, nil
	}
	names, err := b.Names(ctx)
	if err != nil {
		return nil, err
	}
	var known []string
	for _, n := range names {
		if n.Name == name {
			return b.Definition(ctx, n.Versions[len(n.Versions)-1].Hash)
		}
		known = append(known, n.Name)
	}
	return nil, fmt.Errorf("there is no definition %q; there are %s: %w", name, strings.Join(known, ", "), bus.ErrNotFound)
}

// Names lists every name with its versions: the shipped ones, then the saved
// ones by name.
func (b *Book) Names(ctx context.Context) ([]Named, error) {
	var list []Named
	for _, d := range definition.Shipped() {
		list = append(list, Named{Name: d.Name, About: d.About, Shipped: true, Versions: []Version{{Hash: d.Hash()}}})
	}
	if b.bucket == nil {
		return list, nil
	}
	keys, err := b.bucket.Keys(ctx)
	if err != nil {
		return nil, fmt.Errorf("list the definitions: %w", err)
	}
	for _, key := range keys {
		if !strings.HasPrefix(key, "names/") {
			continue
		}
		var n Named
		if _, err := b.read(ctx, key, &n); err != nil {
			return nil, err
		}
		if len(n.Versions) > 0 {
			list = append(list, n)
		}
	}
	return list, nil
}
