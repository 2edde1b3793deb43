package ledger

import (
	"strings"
	"testing"
)

// benchEntry is an entry of about a kilobyte.
func benchEntry(b *testing.B) (*device, *Entry) {
	w := newWorld(b)
	fay, _ := w.found("fay")
	record := map[string]any{"positions": []string{"opener/1-48"}, "said": strings.Repeat("depth 6, half a turn ½ out; ", 12)}
	return fay, fay.sign(Draft{Class: Work, Kind: "adjust", Machine: &w.machine, Record: record, Private: map[string]any{"text": "hay"}})
}

func BenchmarkParseLine(b *testing.B) {
	_, e := benchEntry(b)
	b.SetBytes(int64(len(e.Line())))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := parseLine(e.Line(), false); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkVerify(b *testing.B) {
	d, e := benchEntry(b)
	b.SetBytes(int64(len(e.Line())))
	for b.Loop() {
		if _, err := Verify(e.Line(), d.key.Public()); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkLoad loads 20,000 entries of four devices whose signatures were
// checked before, and then with every signature checked.
func BenchmarkLoad(b *testing.B) {
	w := newWorld(b)
	fay, ned, moe := farm(w)
	tia := w.join("tia", fay)
	fay.pull(tia)
	fay.admit(tia, RoleWorker)
	devices := []*device{fay, ned, moe, tia}
	for i := range 20000 {
		d := devices[i/250%4]
		if i%250 == 0 {
			d.quickPull(devices[(i/250+3)%4])
		}
		d.sign(Draft{Class: Work, Kind: "did", Machine: &w.machine, Record: map[string]any{"job": "grease", "positions": []string{"opener/1-48"}, "done": "2026-04-01T10:30"}})
	}
	all := fay
	all.quickPull(devices...)
	logs := all.logs()
	for _, c := range []struct {
		name string
		logs []Log
	}{{"checked", trusted(all.logs())}, {"anew", logs}} {
		b.Run(c.name, func(b *testing.B) {
			size := 0
			for _, l := range c.logs {
				for _, line := range l.Lines {
					size += len(line)
				}
			}
			b.SetBytes(int64(size))
			for b.Loop() {
				book := load1(b, c.logs)
				book.Judge()
				if len(book.Entries()) < 20000 {
					b.Fatal(len(book.Entries()))
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/20000, "ns/entry")
		})
	}
}
