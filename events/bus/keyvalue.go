package bus

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"strings"

	"github.com/nats-io/nats.go/jetstream"
)

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
