package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// tenYears is a drill of 48 openers with so many entries about it over ten years, made up: worked days with the counter, greasings, torque checks, depths,
// disc measurements, swaps, faults and repairs with money, notes.
func tenYears(t testing.TB, entries int) *testBook {
	t.Helper()
	d := newTestBook(t)
	d.must("machine", "add", "drill", "disc-drill", "--options", "openers=48", "--counter", "area=0ac", "--done", "2026-01-01")
	bk, err := d.call().open()
	if err != nil {
		t.Fatal(err)
	}
	defer bk.store.Close()
	signer, _, err := bk.signer()
	if err != nil {
		t.Fatal(err)
	}
	st, err := bk.state("2040-01-01", "")
	if err != nil {
		t.Fatal(err)
	}
	w := &writing{book: bk, signer: signer, writer: ledger.WriterOf(signer.Public())}
	w.logName = w.writer.String()
	w.c.now = func() time.Time { return d.now }
	every := 10 * 365 * 24 * time.Hour / time.Duration(entries)
	d.at("2026-01-02T06:00")
	err = bk.store.Bulk(func(tx *gitstore.Tx) error {
		for i := 0; i < entries; {
			w.run = nil
			for ; i < entries && len(w.run) < 20; i++ {
				d.now = d.now.Add(every)
				r, p := tenYearsOf(i, entries, st.Machines[0], d.now)
				if _, err := w.addWork(st.Machines[0], r, p); err != nil {
					return err
				}
			}
			if err := tx.Append(w.logName, w.run); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// tenYearsOf is the entry of a number.
func tenYearsOf(i, of int, m *rules.Machine, now time.Time) (record.Record, *record.Private) {
	opener := func(n int) record.Positions {
		p, _ := record.ParsePositions([]string{fmt.Sprintf("opener/%d", n%48+1)})
		return p
	}
	all, _ := record.ParsePositions([]string{"opener/1-48"})
	area := quantity.MustParse(fmt.Sprintf("%d ac", 20_000*(i+1)/of))
	work := record.Work{Machine: m.ID, Done: record.Done(now.Format("2006-01-02T15:04")), Minutes: 20 + i%40, Counters: []record.CounterAt{{Counter: "area", At: area}}}
	switch {
	case i%200 == 50:
		r := &record.Measure{Work: work, Reading: "disc-reach", With: "steel tape"}
		for n := range 48 {
			worn := (i*40/of+n*7)%32 + n%5
			r.Values = append(r.Values, record.Measured{Positions: opener(n), Found: valueOf(fmt.Sprintf("%.4f in", 6.5-float64(worn)/32))})
		}
		return r, nil
	case i%25 == 7:
		return &record.Swap{Work: work, Part: "disc", Positions: opener(i / 25), Act: record.SwapNew, Why: "worn"}, &record.Private{Who: "Ott and Daughter", Costs: []record.Cost{{For: "parts", Amount: "88.40 USD"}}}
	case i%40 == 11:
		return &record.Fault{Work: work, Positions: opener(i), Severity: record.Severities[i%4]}, &record.Private{Text: fmt.Sprintf("hub of opener %d runs warm, round %d", i%48+1, i)}
	case i%30 == 13:
		return &record.Repair{Work: work, Positions: opener(i), Cause: "worn"}, &record.Private{Text: fmt.Sprintf("bearing pressed out and in, round %d", i), Costs: []record.Cost{{For: "parts", Amount: "31.20 USD"}}}
	case i%9 == 2:
		return &record.Adjust{Work: work, Changes: []record.Change{{Setting: "depth", Positions: all, To: valueOf(fmt.Sprint(i/9%11 + 1))}}}, nil
	case i%5 == 1:
		return &record.Note{Work: work, Positions: opener(i)}, &record.Private{Text: fmt.Sprintf("stony corner again, looked at opener %d, round %d", i%48+1, i)}
	case i%11 == 3:
		return &record.Did{Work: work, Job: "torque-check", Positions: all}, nil
	case i%4 == 0:
		return &record.Counter{Work: record.Work{Machine: m.ID, Done: work.Done}, Acts: []record.CounterAct{{Counter: "area", Act: "at", Value: area}}}, nil
	}
	return &record.Did{Work: work, Job: "grease", Positions: all}, nil
}

// The page of a machine with ten years of entries stays one that a telephone opens: less than 1 MB, whatever its lists would come to.
func TestSaleFileStaysSmall(t *testing.T) {
	entries := 3_000
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		entries = 20_000
	}
	d := tenYears(t, entries)
	var said saleJSON
	if err := json.Unmarshal([]byte(d.must("salefile", "drill", "--json")), &said); err != nil {
		t.Fatal(err)
	}
	if said.Evidence.About < entries || said.Page.Bytes > 1_000_000 || !said.Sound {
		t.Errorf("%d entries: %+v", entries, said)
	}
	info, err := os.Stat(filepath.Join(d.dir, said.Page.File))
	if err != nil || info.Size() != said.Page.Bytes {
		t.Errorf("%v, %v", info, err)
	}
	t.Logf("%d entries: page %d bytes, evidence %d", said.Evidence.About, said.Page.Bytes, said.Evidence.Bytes)
}

// BenchmarkSaleFile writes the sale file of a machine with 20,000 entries over ten years.
func BenchmarkSaleFile(b *testing.B) {
	d := tenYears(b, 20_000)
	var said saleJSON
	for b.Loop() {
		if err := json.Unmarshal([]byte(d.must("salefile", "drill", "--json")), &said); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(said.Page.Bytes), "page-bytes")
	b.ReportMetric(float64(said.Evidence.Bytes), "evidence-bytes")
}
