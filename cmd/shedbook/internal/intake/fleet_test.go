package intake

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func sample(t testing.TB, name string) string {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// The sample is made up; its names, its datetime and its namespace are those of public client programs of ISO 15143-3.
func TestFleet(t *testing.T) {
	text := sample(t, "fleet.xml")
	at := time.Date(2026, 5, 2, 17, 58, 11, 0, time.UTC)
	want := []Equipment{
		{ID: "farm-tractor-1", Serial: "000001", PIN: "EX0000000000001", Line: 5, Readings: []Shown{
			{"hours", "1234.75", "h", at, 10}, {"distance", "8123.4", "km", at, 12}, {"fuel", "15012", "L", at, 13}}},
		{ID: "farm-tractor-2", Serial: "000002", Line: 16},
	}
	for _, other := range []struct{ name, old, new string }{
		{"as it is", "", ""},
		{"another namespace", "http://standards.iso.org/iso/15143/-3", "urn:another"},
		{"a prefix", `<Fleet xmlns=`, `<Fleet xmlns:x="urn:x" xmlns=`},
		{"the time written otherwise", "datetime=", "dateTime="},
		{"the odometer's own unit", "<OdometerUnits>kilometre</OdometerUnits><Odometer>8123.4</Odometer>", "<OdometerKilometre>8123.4</OdometerKilometre>"},
		{"the fuel's own unit", "<FuelUnits>litre</FuelUnits><FuelConsumed>15012</FuelConsumed>", "<FuelConsumedLitres>15012</FuelConsumedLitres>"},
		{"the time as an element", `<CumulativeOperatingHours datetime="2026-05-02T17:58:11Z">`, "<CumulativeOperatingHours><datetime>2026-05-02T17:58:11Z</datetime>"},
		{"another zone", `<FuelUsed datetime="2026-05-02T17:58:11Z">`, `<FuelUsed datetime="2026-05-02T12:58:11-05:00">`},
		{"a byte order mark", "<?xml", "\ufeff<?xml"},
	} {
		if !strings.Contains(text, other.old) {
			t.Fatalf("%s: the sample has no %q", other.name, other.old)
		}
		got, err := ReadFleet([]byte(strings.ReplaceAll(text, other.old, other.new)))
		if other.old == "" {
			got, err = ReadFleet([]byte(text))
		}
		if err != nil {
			t.Errorf("%s: %v", other.name, err)
			continue
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: %s", other.name, diff)
		}
	}
}

func TestFleetRefused(t *testing.T) {
	text := sample(t, "fleet.xml")
	deep := "<Fleet>" + strings.Repeat("<a>", mostDepth) + strings.Repeat("</a>", mostDepth) + "</Fleet>"
	for _, c := range []struct{ name, text, want string }{
		{"a document type", strings.Replace(text, "<Fleet", `<!DOCTYPE Fleet [<!ENTITY x SYSTEM "file:///etc/passwd">]><Fleet`, 1), "line 2: it has a document type (<!...>), which no such file needs: it is not read"},
		{"an entity", strings.Replace(text, "farm-tractor-1", "&x;", 1), `line 7: it is no well-formed XML: invalid character entity &x;`},
		{"another encoding", strings.Replace(text, "utf-8", "iso-8859-1", 1), `line 1: it cannot be read: xml: encoding "iso-8859-1" declared but Decoder.CharsetReader is nil`},
		{"too deep", deep, "line 1: more than 32 elements lie inside each other"},
		{"cut off", text[:len(text)-30], "line 17: it is no well-formed XML: unexpected EOF"},
		{"two documents", text + text[strings.Index(text, "<Fleet"):], "line 20: a second document begins"},
		{"another root", "<Machines/>", `line 1: it begins with "Machines": a fleet snapshot (ISO 15143-3) begins with Fleet`},
		{"no machine", "<Fleet/>", "there is no Equipment in it"},
		{"no number", strings.Replace(text, "1234.75", "1,234", 1), `line 10: CumulativeOperatingHours: "1,234" is no decimal number`},
		{"below zero", strings.Replace(text, "1234.75", "-1", 1), `line 10: CumulativeOperatingHours: "-1" is no decimal number`},
		{"no time", strings.Replace(text, "2026-05-02T17:58:11Z\"><Hour>", "yesterday\"><Hour>", 1), `line 10: CumulativeOperatingHours: "yesterday" is no time: 2026-05-02T17:58:11Z is one`},
		{"another unit", strings.Replace(text, "kilometre", "furlong", 1), `line 12: Distance: the unit "furlong" is not known`},
		{"fuel in kilometres", strings.Replace(text, "litre", "km", 1), `line 13: FuelUsed: the unit "km" is not known`},
		{"twice", strings.Replace(text, "<FuelUsed", `<CumulativeOperatingHours datetime="2026-05-02T17:58:11Z"><Hour>1</Hour></CumulativeOperatingHours><FuelUsed`, 1), "line 13: CumulativeOperatingHours stands twice for one machine"},
	} {
		if _, err := ReadFleet([]byte(c.text)); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
}

// Law: a fleet is refused, or every value and every name read stands in the file.
func FuzzFleet(f *testing.F) {
	f.Add(sample(f, "fleet.xml"))
	f.Add("<Fleet><Equipment><EquipmentHeader><PIN>1</PIN></EquipmentHeader></Equipment></Fleet>")
	f.Fuzz(func(t *testing.T, text string) {
		fleet, err := ReadFleet([]byte(text))
		if err != nil {
			return
		}
		for _, e := range fleet {
			if e.ID+e.Serial+e.PIN == "" {
				t.Fatal("a machine without a name")
			}
			for _, r := range e.Readings {
				if r.At.IsZero() && !strings.Contains(text, "0001-01-01") || !decimal.MatchString(r.Value) || r.Line < e.Line {
					t.Fatalf("%+v", r)
				}
			}
		}
	})
}
