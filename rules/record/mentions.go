package record

// Mentions calls found for every entry that a record's bytes name, wherever in them: each run of exactly 64 lower-case hex digits, also inside a longer
// text such as a part's id ("<entry>/opener/12"). One named twice is told twice. It reads bytes and decodes nothing; a digest of something else may be
// among them. The id is a part of raw.
func Mentions(raw []byte, found func(id []byte)) {
	run := 0
	for i := 0; i <= len(raw); i++ {
		if i < len(raw) && isHex(raw[i]) {
			run++
			continue
		}
		if run == 64 {
			found(raw[i-64 : i : i])
		}
		run = 0
	}
}

func isHex(c byte) bool { return c >= '0' && c <= '9' || c >= 'a' && c <= 'f' }
