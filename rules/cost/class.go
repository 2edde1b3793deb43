package cost

import (
	"fmt"
	"slices"
)

// Class is a class of machines that the formulas know, with its coefficients.
type Class struct {
	Name   string  // "tractor-80hp"
	Title  string  // "two-wheel drive tractor, 80 to 149 hp"
	Life   float64 // hours a machine of the class is expected to last, where repair costs were looked at
	Repair Repair
	Value  Value
}

// Repair is the pair of factors of AccumulatedRepair.
type Repair struct {
	RF1, RF2 float64
	Source   string
	Checked  bool // reproduces the cells of a published table
}

// Value is the triple of coefficients of RemainingValue.
type Value struct {
	C1, C2, C3 float64
	Source     string
	Checked    bool
}

// Where the coefficients are from. The formulas and all coefficients are those of ASABE D497 as far as memory has them; the standard itself was not at hand.
const (
	d497    = "ASABE D497, Agricultural Machinery Management Data"
	a3_29   = "Iowa State University Extension A3-29, Estimating Farm Machinery Costs"
	allSeen = " as recalled; reproduces all %d cells read of Table %s of " + a3_29
)

// repair is a pair that reproduces so many cells of A3-29 Table 3; 0: none was at hand.
func repair(rf1, rf2 float64, cells int) Repair {
	if cells == 0 {
		return Repair{RF1: rf1, RF2: rf2, Source: d497 + ", " + Recalled}
	}
	return Repair{RF1: rf1, RF2: rf2, Source: d497 + fmt.Sprintf(allSeen, cells, "3"), Checked: true}
}

// value is a triple that was recalled and could not be held to anything, or to too little.
func value(c1, c2, c3 float64, seen string) Value {
	return Value{C1: c1, C2: c2, C3: c3, Source: d497 + ", " + Recalled + seen}
}

// Classes are those the formulas know, tractors first.
func Classes() []Class { return slices.Clone(classes) }

// Find is the class of that name.
func Find(name string) (Class, bool) {
	for _, c := range classes {
		if c.Name == name {
			return c, true
		}
	}
	return Class{}, false
}

var (
	twoWheel = repair(0.007, 2.0, 10)
	small    = Value{C1: 0.9809, C2: 0.0934, C3: 0.0058, Checked: true, Source: d497 + fmt.Sprintf(allSeen, 60, "1a")}
	middle   = Value{C1: 0.9421, C2: 0.0999, C3: 0.0008, Checked: true, Source: d497 + " as recalled; reproduces 51 of 53 cells read of Table 1a of " + a3_29 + ", the other two within 1 point"}
	big      = value(0.9756, 0.1187, 0.0019, " but for one cell of Table 1a of "+a3_29+", which it reproduces")
	tillage  = value(0.8906, 0.1095, 0, "")
	seeding  = value(0.8830, 0.0787, 0, "")
	baling   = value(0.8521, 0.1014, 0, "")
	other    = value(0.9427, 0.1111, 0, "")
)

var classes = []Class{
	{"tractor-30hp", "two-wheel drive tractor, 30 to 79 hp", 12000, twoWheel, small},
	{"tractor-80hp", "two-wheel drive tractor, 80 to 149 hp", 12000, twoWheel, middle},
	{"tractor-150hp", "two-wheel drive tractor, 150 hp and more", 12000, twoWheel, big},
	{"tractor-4wd", "four-wheel drive or crawler tractor, 150 hp and more", 16000, repair(0.003, 2.0, 10), big},
	{"plow", "moldboard plow", 2000, repair(0.29, 1.8, 10), value(0.7382, 0.0510, 0, "")},
	{"heavy-disk", "heavy-duty disk", 2000, repair(0.18, 1.7, 10), tillage},
	{"tandem-disk", "tandem disk", 2000, repair(0.18, 1.7, 10), tillage},
	{"chisel-plow", "chisel plow", 2000, repair(0.28, 1.4, 9), tillage},
	{"field-cultivator", "field cultivator", 2000, repair(0.27, 1.4, 0), tillage},
	{"grain-drill", "grain drill", 1500, repair(0.32, 2.1, 0), seeding},
	{"row-planter", "row crop planter", 1500, repair(0.32, 2.1, 0), seeding},
	{"boom-sprayer", "boom sprayer", 1500, repair(0.41, 1.3, 0), other},
	{"combine", "self-propelled combine", 3000, repair(0.04, 2.1, 0), value(1.1318, 0.1654, 0.0079, "")},
	{"mower", "mower", 2000, repair(0.46, 1.7, 0), value(0.7557, 0.0672, 0, "")},
	{"small-baler", "small rectangular baler", 2000, repair(0.23, 1.8, 0), baling},
	{"round-baler", "large round baler", 1500, repair(0.43, 1.8, 0), baling},
	{"large-baler", "large rectangular baler", 3000, repair(0.10, 1.8, 0), baling},
}
