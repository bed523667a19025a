package bus

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"

	"github.com/minio/highwayhash"
)

// The store's files, as nats-server 2.10 and later writes them (package server,
// filestore.go; uncompressed and unencrypted). A block file is a run of records:
//
//	0   4  length of the record; the highest bit says that it has headers
//	4   8  sequence; the two highest bits mark an erased or a deleted one
//	12  8  time in nanoseconds
//	20  2  length of the subject
//	22     subject, [4: length of the headers, headers,] message
//	    8  HighwayHash-64 of sequence, time, subject, headers, message
//
// all numbers little-endian. The hash's key is the SHA-256 of "LEDGER-<block>".
const (
	recordHead = 22
	recordHash = 8
	hasHeaders = 1 << 31
	notAnEvent = 3 << 62 // erased or deleted
)

// longestRecord is more than any event can take.
const longestRecord = 1 << 20

// gap is a stretch of a block that holds no readable record.
type gap struct {
	FromByte, ToByte int
	After, Before    Position // the last readable before it and the first behind it; 0: none
}

// walkBlock calls found for the records of a block, and goes on behind what is
// damaged. A gap at the very end has no record before which it ends.
func walkBlock(index int, block []byte, found func(at Position, message []byte)) (gaps []gap, err error) {
	key := sha256.Sum256(fmt.Appendf(nil, "%s-%d", streamName, index))
	hash, err := highwayhash.New64(key[:])
	if err != nil {
		return nil, err
	}
	var last Position
	var open *gap
	for i := 0; i < len(block); {
		hash.Reset()
		r, ok := readRecord(hash, block[i:])
		if !ok {
			if open == nil {
				open = &gap{FromByte: i, After: last}
			}
			i = nextSubject(block, i+1)
			continue
		}
		if open != nil {
			open.ToByte, open.Before = i, r.at
			gaps, open = append(gaps, *open), nil
		}
		if i += r.length; r.at > 0 {
			found(r.at, r.message)
			last = r.at
		}
	}
	if open != nil {
		open.ToByte = len(block)
		gaps = append(gaps, *open)
	}
	return gaps, nil
}

type record struct {
	at      Position // 0: erased or deleted
	message []byte
	length  int
}

// readRecord reads the record at the beginning of b, if its hash is right.
func readRecord(hash interface {
	Write([]byte) (int, error)
	Sum([]byte) []byte
}, b []byte) (r record, ok bool) {
	if len(b) < recordHead+recordHash {
		return r, false
	}
	le := binary.LittleEndian
	head := le.Uint32(b)
	length, subject := int(head&^hasHeaders), int(le.Uint16(b[20:]))
	headers := head&hasHeaders != 0
	start := recordHead + subject
	if headers {
		start += 4
	}
	if length > min(len(b), longestRecord) || start > length-recordHash {
		return r, false
	}
	body := b[start : length-recordHash]
	hash.Write(b[4:20])
	hash.Write(b[recordHead : recordHead+subject])
	hash.Write(body)
	if !bytes.Equal(hash.Sum(nil), b[length-recordHash:length]) {
		return r, false
	}
	if headers {
		n := int(le.Uint32(b[start-4:]))
		if n > len(body) {
			return r, false
		}
		body = body[n:]
	}
	r = record{message: body, length: length}
	if seq := le.Uint64(b[4:]); seq&notAnEvent == 0 {
		r.at = Position(seq)
	}
	return r, true
}

// nextSubject is where the next record may begin, from i on.
func nextSubject(block []byte, i int) int {
	at := bytes.Index(block[min(len(block), i+recordHead):], []byte("ledger."))
	if at < 0 {
		return len(block)
	}
	return i + at
}
