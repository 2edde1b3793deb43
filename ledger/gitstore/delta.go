package gitstore

import (
	"bytes"
	"encoding/binary"
)

// makeDelta returns what makes data out of base: gitformat-pack(5), "deltified
// representation". It looks for what this package's objects have in common and
// no further: a beginning, an end, and, where both are of one length, equal
// stretches at the same places. A log's files only grow, so that an older one
// is a beginning of the last.
func makeDelta(base, data []byte) []byte {
	out := binary.AppendUvarint(nil, uint64(len(base)))
	out = binary.AppendUvarint(out, uint64(len(data)))
	start := commonStart(base, data)
	out = appendCopy(out, 0, start)
	restBase, rest := base[start:], data[start:]
	end := commonEnd(restBase, rest)
	restBase, rest = restBase[:len(restBase)-end], rest[:len(rest)-end]
	if len(restBase) == len(rest) {
		out = appendAligned(out, start, restBase, rest)
	} else {
		out = appendInsert(out, rest)
	}
	return appendCopy(out, len(base)-end, end)
}

// leastCopy is how long a stretch must be for copying it to take fewer bytes
// than writing it out.
const leastCopy = 8

// appendAligned adds what makes data out of the equally long stretch of the
// base that begins at offset.
func appendAligned(out []byte, offset int, base, data []byte) []byte {
	written := 0
	for i := 0; i < len(data); {
		same := commonStart(base[i:], data[i:])
		if same >= leastCopy {
			out = appendInsert(out, data[written:i])
			out = appendCopy(out, offset+i, same)
			written = i + same
		}
		i += same + 1
	}
	return appendInsert(out, data[min(written, len(data)):])
}

func commonStart(a, b []byte) int {
	n := min(len(a), len(b))
	i := 0
	for ; i+64 <= n && bytes.Equal(a[i:i+64], b[i:i+64]); i += 64 {
	}
	for ; i < n && a[i] == b[i]; i++ {
	}
	return i
}

func commonEnd(a, b []byte) int {
	n := min(len(a), len(b))
	i := 0
	for ; i < n && a[len(a)-1-i] == b[len(b)-1-i]; i++ {
	}
	return i
}

func appendInsert(out, data []byte) []byte {
	for len(data) > 0 {
		n := min(len(data), 127)
		out = append(out, byte(n))
		out = append(out, data[:n]...)
		data = data[n:]
	}
	return out
}

func appendCopy(out []byte, offset, size int) []byte {
	for size > 0 {
		n := min(size, 0xffff)
		at := len(out)
		out = append(out, 0x80)
		for i := range 4 {
			if b := byte(offset >> (8 * i)); b != 0 {
				out[at] |= 1 << i
				out = append(out, b)
			}
		}
		for i := range 2 {
			if b := byte(n >> (8 * i)); b != 0 {
				out[at] |= 0x10 << i
				out = append(out, b)
			}
		}
		offset, size = offset+n, size-n
	}
	return out
}
