package intake

import (
	"regexp"
	"strings"
	"time"
)

// Equipment is one machine of a fleet snapshot (ISO 15143-3).
type Equipment struct {
	ID, Serial, PIN string // as its header names it; any may be missing
	Line            int
	Readings        []Shown
}

// Shown is what one of its counters showed.
type Shown struct {
	What  string // hours, distance, fuel
	Value string // a decimal, as it stands
	Unit  string // h, km, mi, L, gal
	At    time.Time
	Line  int
}

// ReadFleet reads a snapshot: the root Fleet with Equipment in it. Elements are known by their local names; programs differ in the namespace, in whether the
// time is an attribute or an element, and in how its name is written. What is read: CumulativeOperatingHours/Hour, Distance (OdometerUnits and Odometer,
// or OdometerKilometre), FuelUsed (FuelUnits and FuelConsumed, or FuelConsumedLitres). The names are those of public client programs; the standard's
// own schema was not at hand.
func ReadFleet(data []byte) ([]Equipment, error) {
	root, err := readXML(data)
	if err != nil {
		return nil, err
	}
	if root.name != "Fleet" {
		return nil, refuse(root.line, "it begins with %q: a fleet snapshot (ISO 15143-3) begins with Fleet", root.name)
	}
	var out []Equipment
	for _, e := range root.all("Equipment") {
		q := Equipment{Line: e.line}
		for _, h := range e.all("EquipmentHeader") {
			q.ID, q.Serial, q.PIN = h.first("EquipmentID"), h.first("SerialNumber"), h.first("PIN")
		}
		if q.ID == "" && q.Serial == "" && q.PIN == "" {
			return nil, refuse(e.line, "the equipment has neither EquipmentID nor SerialNumber nor PIN")
		}
		for _, k := range e.kids {
			r, ok, err := shown(k)
			if err != nil {
				return nil, err
			}
			if !ok {
				continue
			}
			for _, o := range q.Readings {
				if o.What == r.What {
					return nil, refuse(k.line, "%s stands twice for one machine", k.name)
				}
			}
			q.Readings = append(q.Readings, r)
		}
		out = append(out, q)
	}
	if len(out) == 0 {
		return nil, refuse(0, "there is no Equipment in it")
	}
	return out, nil
}

var decimal = regexp.MustCompile(`^[0-9]{1,12}(\.[0-9]{1,9})?$`)

// shown reads one counter; ok is false for what is none.
func shown(e *element) (r Shown, ok bool, err error) {
	r.Line = e.line
	var unit string
	switch e.name {
	case "CumulativeOperatingHours":
		r.What, r.Unit, r.Value = "hours", "h", e.first("Hour")
	case "Distance":
		r.What, r.Value, unit = "distance", e.first("Odometer"), e.first("OdometerUnits")
		if r.Value == "" {
			r.Value, unit = e.first("OdometerKilometre"), "kilometre"
		}
	case "FuelUsed":
		r.What, r.Value, unit = "fuel", e.first("FuelConsumed"), e.first("FuelUnits")
		if r.Value == "" {
			r.Value, unit = e.first("FuelConsumedLitres"), "litre"
		}
	default:
		return r, false, nil
	}
	if r.Value == "" { // nothing is said
		return r, false, nil
	}
	if !decimal.MatchString(r.Value) {
		return r, false, refuse(e.line, "%s: %q is no decimal number", e.name, r.Value)
	}
	if r.Unit == "" {
		r.Unit = map[string]string{"kilometre": "km", "kilometer": "km", "km": "km", "mile": "mi", "litre": "L", "liter": "L", "l": "L", "gallon": "gal"}[strings.ToLower(unit)]
		if r.Unit == "" || (r.What == "distance") != (r.Unit == "km" || r.Unit == "mi") {
			return r, false, refuse(e.line, "%s: the unit %q is not known", e.name, unit)
		}
	}
	when := e.first("datetime")
	for name, v := range e.attr {
		if strings.EqualFold(name, "datetime") {
			when = v
		}
	}
	if r.At, err = time.Parse(time.RFC3339, when); err != nil {
		return r, false, refuse(e.line, "%s: %q is no time: 2026-05-02T17:58:11Z is one", e.name, when)
	}
	return r, true, nil
}
