package photo

import (
	"bytes"
	"encoding/binary"
)

// upright is the orientation of a picture that needs no turning.
const upright = 1

// orientation reads how a JPEG lies (Exif 2.32, 4.6.4: tag 0x0112 of the first
// directory). Nothing else of what stands beside the picture is read. What
// cannot be understood is upright.
func orientation(data []byte) int {
	for data = data[2:]; len(data) >= 4 && data[0] == 0xff; {
		marker, length := data[1], int(binary.BigEndian.Uint16(data[2:]))
		if marker == 0xda || length < 2 || len(data) < 2+length { // the picture itself begins
			return upright
		}
		body := data[4 : 2+length]
		if tiff, ok := bytes.CutPrefix(body, []byte("Exif\x00\x00")); ok && marker == 0xe1 {
			return tiffOrientation(tiff)
		}
		data = data[2+length:]
	}
	return upright
}

func tiffOrientation(tiff []byte) int {
	if len(tiff) < 8 {
		return upright
	}
	var order binary.ByteOrder
	switch string(tiff[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return upright
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return upright
	}
	fields := tiff[at+2:]
	for range order.Uint16(tiff[at:]) {
		if len(fields) < 12 {
			return upright
		}
		if order.Uint16(fields) == 0x0112 {
			if turn := int(order.Uint16(fields[8:])); order.Uint16(fields[2:]) == 3 && turn >= 1 && turn <= 8 {
				return turn
			}
			return upright
		}
		fields = fields[12:]
	}
	return upright
}
