package replay

import (
	"encoding/binary"
	"hash/crc32"
)

// Resum gives any bytes a segment's head, so that fuzzing reaches the reader
// behind the checksum.
func Resum(text []byte) []byte {
	out := append([]byte(segmentMagic), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(out[8:], crc32.Checksum(text, castagnoli))
	return append(out, text...)
}
