package bus

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"strings"
	"time"

	"github.com/nats-io/nats.go/jetstream"
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

// keyValue is a bucket in the server. Two values of a key may stand for a
// moment: the old one is erased after the new one is safe. The server's own
// limit of one would only unlink the old bytes and leave them in the file.
type keyValue struct {
	*stream
	name   BucketName
	values jetstream.KeyValue
	under  jetstream.Stream
}

const keptValues = 2

func (s *stream) bucket(ctx context.Context, name BucketName) (Bucket, error) {
	switch name {
	case Definitions, People, Access:
	default:
		return nil, fmt.Errorf("open bucket %q: %w", name, ErrNotFound)
	}
	under, err := s.bucketStream(ctx, name)
	if err != nil {
		return nil, s.explain("open bucket "+string(name), err)
	}
	values, err := s.js.KeyValue(ctx, string(name))
	if err != nil {
		return nil, s.explain("open bucket "+string(name), err)
	}
	kv := &keyValue{stream: s, name: name, values: values, under: under}
	if s.frozen {
		return kv, nil
	}
	return kv, kv.sweep(ctx)
}

// bucketStream finds or makes the stream under a bucket. It is made by hand
// because a bucket made by the client refuses the erasing of single messages.
func (s *stream) bucketStream(ctx context.Context, name BucketName) (jetstream.Stream, error) {
	st, err := s.js.Stream(ctx, "KV_"+string(name))
	if errors.Is(err, jetstream.ErrStreamNotFound) && s.frozen {
		return nil, ErrNotFound
	}
	if !errors.Is(err, jetstream.ErrStreamNotFound) {
		return st, err
	}
	st, err = s.js.CreateStream(ctx, jetstream.StreamConfig{
		Name:              "KV_" + string(name),
		Subjects:          []string{"$KV." + string(name) + ".>"},
		Storage:           jetstream.FileStorage,
		Replicas:          s.stream.CachedInfo().Config.Replicas,
		MaxMsgsPerSubject: keptValues,
		Discard:           jetstream.DiscardNew,
		AllowRollup:       true,
		AllowDirect:       true,
	})
	if errors.Is(err, jetstream.ErrStreamNameAlreadyInUse) {
		return s.js.Stream(ctx, "KV_"+string(name))
	}
	return st, err
}

func (b *keyValue) Get(ctx context.Context, key string) (Value, error) {
	if err := checkKey(key); err != nil {
		return Value{}, err
	}
	e, err := b.values.Get(ctx, key)
	if err != nil {
		return Value{}, b.explainKey("read", key, err)
	}
	return valueOf(e), nil
}

func valueOf(e jetstream.KeyValueEntry) Value {
	return Value{Key: e.Key(), Bytes: e.Value(), Revision: Revision(e.Revision()), Stored: e.Created(), Deleted: e.Operation() != jetstream.KeyValuePut}
}

func (b *keyValue) Put(ctx context.Context, key string, value []byte, was Revision) (Revision, error) {
	if err := errors.Join(checkKey(key), b.place.check(len(value))); err != nil {
		return 0, b.explainKey("store", key, err)
	}
	var now uint64
	err := b.writing(ctx, func(ctx context.Context) (err error) {
		now, err = b.put(ctx, key, value, was)
		return err
	})
	if err != nil {
		return 0, b.explainKey("store", key, err)
	}
	return Revision(now), b.eraseBefore(ctx, key, now)
}

func (b *keyValue) put(ctx context.Context, key string, value []byte, was Revision) (uint64, error) {
	switch was {
	case AnyRevision:
		return b.values.Put(ctx, key, value)
	case NoRevision:
		return b.values.Create(ctx, key, value)
	}
	return b.values.Update(ctx, key, value, uint64(was))
}

func (b *keyValue) Delete(ctx context.Context, key string, was Revision) error {
	if err := checkKey(key); err != nil {
		return err
	}
	opts := []jetstream.KVDeleteOpt{}
	if was != AnyRevision {
		opts = append(opts, jetstream.LastRevision(uint64(was)))
	}
	if _, err := b.values.Get(ctx, key); errors.Is(err, jetstream.ErrKeyNotFound) {
		return nil
	}
	if err := b.values.Delete(ctx, key, opts...); err != nil {
		return b.explainKey("delete", key, err)
	}
	mark, err := b.under.GetLastMsgForSubject(ctx, b.subject(key))
	if err != nil {
		return b.explainKey("delete", key, err)
	}
	return b.eraseBefore(ctx, key, mark.Sequence)
}

func (b *keyValue) subject(key string) string { return "$KV." + string(b.name) + "." + key }

// eraseBefore overwrites the values of a key older than a revision.
func (b *keyValue) eraseBefore(ctx context.Context, key string, now uint64) error {
	for {
		old, err := b.under.GetMsg(ctx, 1, jetstream.WithGetMsgSubject(b.subject(key)))
		if errors.Is(err, jetstream.ErrMsgNotFound) || err == nil && old.Sequence >= now {
			return nil
		}
		if err == nil {
			err = b.under.SecureDeleteMsg(ctx, old.Sequence)
		}
		if err != nil && !errors.Is(err, jetstream.ErrMsgNotFound) {
			return b.explainKey("erase the earlier value of", key, err)
		}
	}
}

// sweep erases what a crash between a change and its erasing left behind.
func (b *keyValue) sweep(ctx context.Context) error {
	info, err := b.under.Info(ctx, jetstream.WithSubjectFilter("$KV."+string(b.name)+".>"))
	if err != nil {
		return b.explain("look through bucket "+string(b.name), err)
	}
	for subject, n := range info.State.Subjects {
		if n < keptValues {
			continue
		}
		last, err := b.under.GetLastMsgForSubject(ctx, subject)
		if err != nil {
			return b.explain("look through bucket "+string(b.name), err)
		}
		if err := b.eraseBefore(ctx, strings.TrimPrefix(subject, b.subject("")), last.Sequence); err != nil {
			return err
		}
	}
	return nil
}

func (b *keyValue) Keys(ctx context.Context) ([]string, error) {
	keys, err := b.values.Keys(ctx)
	if err != nil && !errors.Is(err, jetstream.ErrNoKeysFound) {
		return nil, b.explain("list bucket "+string(b.name), err)
	}
	return sorted(keys), nil
}

func (b *keyValue) Watch(ctx context.Context) iter.Seq2[Value, error] {
	return func(yield func(Value, error) bool) {
		w, err := b.values.WatchAll(ctx)
		if err != nil {
			yield(Value{}, b.explain("watch bucket "+string(b.name), err))
			return
		}
		defer w.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case e, open := <-w.Updates():
				if !open {
					return
				}
				if e != nil && !yield(valueOf(e), nil) { // nil marks the end of what was there
					return
				}
			}
		}
	}
}

func (b *keyValue) explainKey(doing, key string, err error) error {
	doing += " " + string(b.name) + "/" + key
	switch {
	case errors.Is(err, jetstream.ErrKeyNotFound):
		return fmt.Errorf("%s: %w", doing, ErrNotFound)
	case errors.Is(err, jetstream.ErrKeyExists):
		return fmt.Errorf("%s: %w", doing, ErrConflict)
	}
	return b.explain(doing, err)
}
