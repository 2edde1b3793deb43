package main

import (
	"bytes"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
)

type pageJSON struct {
	Format int    `json:"format"`
	Paper  string `json:"paper"` // "sale file", "job card", ...
	File   string `json:"file"`
	Bytes  int    `json:"bytes"`
}

// writePage writes a page to out, over what is there; "-" is the standard output. It says where it went and how it gets onto paper.
func (c *call) writePage(p *paper.Page, out string) error {
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		return err
	}
	if out == "-" {
		if c.json {
			return usage("name a file, or leave --json out", "--out - is the page itself, and --json one object: only one of them can stand on the standard output")
		}
		_, err := c.stdout.Write(b.Bytes())
		return err
	}
	if err := c.replaceFile(out, b.Bytes()); err != nil {
		return err
	}
	if c.json {
		return c.printJSON(pageJSON{1, p.Kind, out, b.Len()})
	}
	c.aside()("", "wrote the %s: %s, %s", p.Kind, out, kilobytes(int64(b.Len())))
	c.say("open it in any browser; print it from there, on Letter or A4\n")
	return nil
}

// reserved are names that Windows keeps for devices, whatever follows the first dot ("Naming Files, Paths, and Namespaces", Win32 documentation).
var reserved = map[string]bool{
	"con": true, "prn": true, "aux": true, "nul": true,
	"com0": true, "com1": true, "com2": true, "com3": true, "com4": true, "com5": true, "com6": true, "com7": true, "com8": true, "com9": true,
	"lpt0": true, "lpt1": true, "lpt2": true, "lpt3": true, "lpt4": true, "lpt5": true, "lpt6": true, "lpt7": true, "lpt8": true, "lpt9": true,
}

// safeName makes a name that every system takes out of words a person may have chosen: small letters of a to z, digits and hyphens.
func safeName(ending string, words ...string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(strings.Join(words, "-")) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			b.WriteRune(r)
		case !strings.HasSuffix(b.String(), "-") && b.Len() > 0:
			b.WriteByte('-')
		}
		if b.Len() >= 60 {
			break
		}
	}
	name := strings.Trim(b.String(), "-")
	if name == "" || reserved[name] {
		name = strings.Trim("shed-"+name, "-")
	}
	return name + "." + ending
}
