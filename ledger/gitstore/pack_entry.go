package gitstore

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"hash/adler32"

	"github.com/go-git/go-git/v5/plumbing"
)

// deflated returns an entry: kind and size, what stands between, and the data.
func (m *merger) deflated(kind plumbing.ObjectType, between, data []byte) ([]byte, error) {
	size := len(data)
	b := byte(kind)<<4 | byte(size&15)
	var raw bytes.Buffer
	for size >>= 4; size > 0; size >>= 7 {
		raw.WriteByte(b | 0x80)
		b = byte(size & 0x7f)
	}
	raw.WriteByte(b)
	raw.Write(between)
	if len(data) <= leastDeflated {
		raw.Write(stored(data))
		return raw.Bytes(), nil
	}
	if m.zip == nil {
		m.zip = zlib.NewWriter(&raw)
	} else {
		m.zip.Reset(&raw)
	}
	if _, err := m.zip.Write(data); err != nil {
		return nil, err
	}
	if err := m.zip.Close(); err != nil {
		return nil, err
	}
	return raw.Bytes(), nil
}

// leastDeflated is the size up to which nothing is gained by compressing: such
// deltas are mostly digests, and there are four to a run.
const leastDeflated = 64

// stored returns data in the form of zlib (RFC 1950) without compressing it:
// one stored block (RFC 1951, section 3.2.4).
func stored(data []byte) []byte {
	n := uint16(len(data))
	out := []byte{0x78, 0x01, 1}
	out = binary.LittleEndian.AppendUint16(out, n)
	out = binary.LittleEndian.AppendUint16(out, ^n)
	out = append(out, data...)
	return binary.BigEndian.AppendUint32(out, adler32.Checksum(data))
}

// splitEntry splits the entry of a delta that names its base by distance into
// its type and size, that distance, and the rest. For any other entry distance
// is 0. See gitformat-pack(5), "pack entries".
func splitEntry(raw []byte) (distance int64, head, rest []byte, err error) {
	if len(raw) == 0 {
		return 0, nil, nil, errors.New("cut short")
	}
	if kind := plumbing.ObjectType(raw[0] >> 4 & 7); kind != plumbing.OFSDeltaObject {
		return 0, nil, raw, nil
	}
	n := 1
	for raw[n-1]&0x80 != 0 { // type and size
		if n++; n > len(raw) {
			return 0, nil, nil, errors.New("cut short")
		}
	}
	distance, rest, err = takeDistance(raw[n:])
	if err == nil && distance == 0 {
		err = errors.New("it is made out of itself")
	}
	return distance, raw[:n], rest, err
}

// takeDistance reads the distance of a delta's base: gitformat-pack(5),
// "offset encoding".
func takeDistance(data []byte) (distance int64, rest []byte, err error) {
	for i, b := range data {
		if i == 9 {
			break
		}
		distance = distance<<7 | int64(b&0x7f)
		if b&0x80 == 0 {
			return distance, data[i+1:], nil
		}
		distance++
	}
	return 0, nil, errors.New("cut short")
}

func encodeDistance(n int64) []byte {
	out := []byte{byte(n & 0x7f)}
	for n >>= 7; n > 0; n >>= 7 {
		n--
		out = append([]byte{byte(n&0x7f) | 0x80}, out...)
	}
	return out
}
