package bus

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"

	"stopledger/events"
)

// peopleFile is the bucket of people beside a .jsonl ledger.
type peopleFile struct {
	values map[string]Value
}

func sorted(keys []string) []string {
	slices.Sort(keys)
	return keys
}

func (f file) bucket(_ context.Context, name BucketName) (Bucket, error) {
	if name != People {
		return nil, fmt.Errorf("open bucket %s of %s: %w: a .jsonl ledger has only people, in a people.jsonl beside it", name, f.path, ErrNotFound)
	}
	b := peopleFile{make(map[string]Value)}
	path := filepath.Join(filepath.Dir(f.path), "people.jsonl")
	in, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return b, nil
	}
	if err != nil {
		return nil, fmt.Errorf("open people: %w", err)
	}
	defer in.Close()
	people, err := events.ReadPeople(in)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	for i, p := range people {
		line, err := json.Marshal(p)
		if err != nil {
			return nil, fmt.Errorf("read %s: person %s: %w", path, p.ID, err)
		}
		b.values[string(p.ID)] = Value{Key: string(p.ID), Bytes: line, Revision: Revision(i + 1)}
	}
	return b, nil
}

func (b peopleFile) Get(_ context.Context, key string) (Value, error) {
	v, ok := b.values[key]
	if !ok {
		return Value{}, fmt.Errorf("read people/%s: %w", key, ErrNotFound)
	}
	return v, nil
}

func (b peopleFile) Put(context.Context, string, []byte, Revision) (Revision, error) {
	return 0, ErrReadOnly
}

func (b peopleFile) Delete(context.Context, string, Revision) error { return ErrReadOnly }

func (b peopleFile) Keys(context.Context) ([]string, error) {
	keys := make([]string, 0, len(b.values))
	for k := range b.values {
		keys = append(keys, k)
	}
	return sorted(keys), nil
}

func (b peopleFile) Watch(ctx context.Context) iter.Seq2[Value, error] {
	return func(yield func(Value, error) bool) {
		keys, _ := b.Keys(ctx)
		for _, k := range keys {
			if !yield(b.values[k], nil) {
				return
			}
		}
		<-ctx.Done()
	}
}
