package quantity

import "testing"

// A kelvin, and so a difference of 1 degC, is a difference of 1.8 degF: NIST Special Publication 811 (2008), section B.8 (degree Fahrenheit, interval to kelvin: times 5/9).
func TestUsualDifference(t *testing.T) {
	for _, c := range []struct {
		q    string
		s    System
		want string
	}{
		{"20 degC", US, "36 degF"}, {"18 degF", Metric, "10 degC"}, {"-5 degC", US, "-9 degF"}, {"20 degC", Metric, "20 degC"}, {"0.1 in", Metric, "2.54 mm"}, {"18 degF", AsWritten, "18 degF"},
	} {
		q, err := Parse(c.q)
		if err != nil {
			t.Fatal(err)
		}
		if got := q.UsualDifference(c.s).String(); got != c.want {
			t.Errorf("%s apart: got %s, want %s", c.q, got, c.want)
		}
	}
}
