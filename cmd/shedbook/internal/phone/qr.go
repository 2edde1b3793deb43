package phone

import (
	"net/url"
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

// Square is the code of an address for paper: how many modules it has on a side, and which are dark.
func Square(address string) (modules int, dark func(x, y int) bool, err error) {
	code, err := qr.Encode(address, qr.M)
	if err != nil {
		return 0, nil, err
	}
	return code.Size, code.Black, nil
}

// JobPath is the page of a job, below the server's address; of the machine where none is named.
func JobPath(machine, job string) string {
	path := "/m/" + url.PathEscape(machine)
	if job != "" {
		path += "/job/" + url.PathEscape(job)
	}
	return path
}

func bit(is bool) int {
	if is {
		return 1
	}
	return 0
}
