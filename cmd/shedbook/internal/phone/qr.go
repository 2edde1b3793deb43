package phone

import (
	"strings"

	"rsc.io/qr"
)

// quiet is how many light modules stand around a code (ISO/IEC 18004).
const quiet = 4

// Blocks draws a QR code of an address for a terminal: two modules to a character cell, light ones filled, for most terminals are dark.
func Blocks(address string) (string, error) {
	code, err := qr.Encode(address, qr.M)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	for y := -quiet; y < code.Size+quiet; y += 2 {
		for x := -quiet; x < code.Size+quiet; x++ {
			b.WriteString([]string{"█", "▀", "▄", " "}[2*bit(code.Black(x, y))+bit(code.Black(x, y+1))])
		}
		b.WriteByte('\n')
	}
	return b.String(), nil
}

func bit(is bool) int {
	if is {
		return 1
	}
	return 0
}
