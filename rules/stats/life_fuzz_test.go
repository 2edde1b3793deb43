package stats

import (
	"encoding/binary"
	"math"
	"testing"
)

// FuzzLives: whatever lives come in, the answer is a finite one or an error; and what goes on from it is finite too.
func FuzzLives(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{1, 5, 0, 0})                                     // one failure
	f.Add([]byte{1, 5, 0, 0, 1, 5, 0, 0, 1, 5, 0, 0})             // all alike
	f.Add([]byte{1, 5, 0, 0, 0, 9, 0, 0, 1, 7, 0, 200})           // one first watched late
	f.Add([]byte{1, 0, 0, 0, 1, 255, 255, 0, 0, 1, 0, 0})         // nothing, and very much
	f.Add([]byte{1, 100, 0, 255, 1, 101, 0, 255, 1, 102, 0, 255}) // all watched just before they failed
	f.Fuzz(func(t *testing.T, data []byte) {
		var lives []Life
		var parts []Ageing
		for ; len(data) >= 4 && len(lives) < 60; data = data[4:] {
			x := float64(binary.LittleEndian.Uint16(data[1:3]))
			l := Life{Time: x, Failed: data[0]&1 == 1, From: x * float64(data[3]) / 256}
			if data[0]&2 == 2 {
				l.Time, l.From = l.Time*1e12, l.From*1e12
			}
			lives = append(lives, l)
			parts = append(parts, Ageing{Age: l.Time, Use: x})
		}
		finite := func(what string, values ...float64) {
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s: %v of %+v", what, values, lives)
				}
			}
		}
		if curve, err := KaplanMeier(lives); err == nil {
			for _, s := range curve {
				l := s.Limits(0.8)
				finite("Kaplan-Meier", s.Share, s.SE, l.Low, l.High)
				if s.Share < 0 || s.Share > 1 || l.Low > s.Share+1e-12 || l.High < s.Share-1e-12 {
					t.Fatalf("%+v %+v", s, l)
				}
			}
		}
		w, err := FitWeibull(lives)
		if err != nil {
			return
		}
		finite("fit", w.Eta, w.Beta, w.EtaSE, w.BetaSE, w.Mu, w.Sigma, w.MuSE, w.SigmaSE, w.LogLik)
		sum := 0.0
		for _, c := range w.Failing(parts, 1e-3) {
			finite("chance", c)
			sum += c
		}
		if math.Abs(sum-1) > 1e-6 {
			t.Fatalf("chances sum to %v", sum)
		}
		finite("count", w.FailsOf(parts, 1e-3))
	})
}
