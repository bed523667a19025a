package bus

import (
	"context"
	"fmt"
	"iter"
	"strings"
	"time"
)

// BucketName names one of the places for what may be changed or erased.
type BucketName string

const (
	Definitions BucketName = "definitions" // definition files under their hash
	People      BucketName = "people"      // names and measurements under the player's id
	Access      BucketName = "access"      // access keys, hashed
)

// Revision counts the changes of a bucket. NoRevision is that of a key that is
// not there.
type Revision uint64

const NoRevision Revision = 0

// AnyRevision makes Put and Delete act whatever is there.
const AnyRevision = ^Revision(0)

// Value is what stands under a key.
type Value struct {
	Key      string
	Bytes    []byte
	Revision Revision
	Stored   time.Time
	Deleted  bool // only from Watch
}

// Bucket is a small store of keys and values beside the log. Keys are made of
// a-z, A-Z, 0-9 and - _ = . / and hold at most 200 bytes.
type Bucket interface {
	// Get returns a value or ErrNotFound.
	Get(ctx context.Context, key string) (Value, error)
	// Put stores a value if the key's revision is still the one given, and
	// returns the new one; else ErrConflict. NoRevision wants no such key.
	Put(ctx context.Context, key string, value []byte, was Revision) (Revision, error)
	// Delete erases a value if its revision is still the one given; else
	// ErrConflict. The bytes of this and of every earlier value of the key are
	// overwritten in the store. Deleting what is not there is no error.
	Delete(ctx context.Context, key string, was Revision) error
	// Keys lists the keys in order.
	Keys(ctx context.Context) ([]string, error)
	// Watch yields every value there is and then every change, until ctx ends.
	Watch(ctx context.Context) iter.Seq2[Value, error]
}

// Bucket opens a bucket, and makes it if need be and allowed. Of a .jsonl
// ledger there is only the bucket of people: people.jsonl in the same folder.
func (l *Ledger) Bucket(ctx context.Context, name BucketName) (Bucket, error) {
	b, err := l.log.bucket(ctx, name)
	if err != nil {
		return nil, err
	}
	if l.readOnly {
		return readOnlyBucket{b}, nil
	}
	return b, nil
}

// readOnlyBucket refuses changes.
type readOnlyBucket struct{ Bucket }

func (readOnlyBucket) Put(context.Context, string, []byte, Revision) (Revision, error) {
	return 0, ErrReadOnly
}

func (readOnlyBucket) Delete(context.Context, string, Revision) error { return ErrReadOnly }

// checkKey keeps a key from being taken for a wildcard or a path.
func checkKey(key string) error {
	bad := strings.IndexFunc(key, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_=./", r))
	})
	if key == "" || len(key) > 200 || bad >= 0 || strings.HasPrefix(key, ".") || strings.HasSuffix(key, ".") || strings.Contains(key, "..") {
		return fmt.Errorf("%q is no key: want 1 to 200 of letters, digits and - _ = . /", key)
	}
	return nil
}
