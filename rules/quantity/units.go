package quantity

import (
	"math/big"
	"strings"
)

// unitDef is one row of the table of units. An amount of n is factor x n + offset of the dimension's base: the SI unit, but degC for
// temperature, month for calendar spans, degree for angles and 1 for counts and ratios.
type unitDef struct {
	name    string
	dim     Dimension
	factor  *big.Rat
	system  System
	aliases string // other spellings, lower case, '.' between the words of one
	usual   target // what people of the other system read instead
	noun    string // what a counting unit counts
	offset  *big.Rat
}

// target is a unit of the other system, and the decimals Show gives it.
type target struct {
	name   string
	places int
}

// The exact definitions. UCUM essence 2.2 (2024) and NIST SP 811 (2008) Appendix B: inch 25.4 mm, pound 0.45359237 kg, standard gravity
// 9.80665 m/s2, US gallon 231 in3, imperial gallon 4.54609 L, bushel 2150.42 in3, inch of water 249.08891 Pa (the conventional one). The acre is
// 43,560 square feet of the international foot.
var (
	one     = rat("1")
	inch    = rat("0.0254")
	foot    = times(rat("12"), inch)
	mile    = times(rat("5280"), foot)
	pound   = rat("0.45359237")
	lbForce = times(pound, rat("9.80665"))
	acre    = times(rat("43560"), foot, foot)
	hectare = rat("10000")
	gallon  = times(rat("231"), inch, inch, inch)
	fluidOz = over(gallon, rat("128"))
	bushel  = times(rat("2150.42"), inch, inch, inch)
	litre   = rat("0.001")
	minute  = rat("60")
	hour    = rat("3600")
	tonne   = rat("1000")
	ton     = times(rat("2000"), pound)
)

// units is the table; its index is the Unit. Rows may be added at the end of their dimension: nothing stored holds an index.
var units = []unitDef{
	{name: "", dim: Count, factor: one, aliases: "count ea each pcs"},
	counted("bales", "bale"), counted("seeds", "seed"), counted("plants", "plant"), counted("turns", "turn rev revs"),
	counted("pumps", "pump strokes stroke"), counted("holes", "hole"), counted("notches", "notch"), counted("clicks", "click"),
	counted("teeth", "tooth"), counted("links", "link"), counted("shims", "shim"),

	{name: "in", dim: Length, factor: inch, system: US, usual: target{"mm", 1}, aliases: "inch inches \" ''"},
	{name: "ft", dim: Length, factor: foot, system: US, usual: target{"m", 2}, aliases: "foot feet '"},
	{name: "yd", dim: Length, factor: times(rat("3"), foot), system: US, usual: target{"m", 2}, aliases: "yds yard yards"},
	{name: "mi", dim: Length, factor: mile, system: US, usual: target{"km", 1}, aliases: "mile miles"},
	{name: "mil", dim: Length, factor: over(inch, rat("1000")), system: US, usual: target{"mm", 3}, aliases: "mils thou"},
	{name: "um", dim: Length, factor: rat("0.000001"), system: Metric, usual: target{"mil", 1}, aliases: "micron microns micrometre micrometer"},
	{name: "mm", dim: Length, factor: rat("0.001"), system: Metric, usual: target{"in", 2}, aliases: "millimetre millimetres millimeter millimeters"},
	{name: "cm", dim: Length, factor: rat("0.01"), system: Metric, usual: target{"in", 2}, aliases: "centimetre centimetres centimeter centimeters"},
	{name: "m", dim: Length, factor: one, system: Metric, usual: target{"ft", 1}, aliases: "metre metres meter meters"},
	{name: "km", dim: Length, factor: rat("1000"), system: Metric, usual: target{"mi", 1}, aliases: "kilometre kilometres kilometer kilometers"},

	{name: "ac", dim: Area, factor: acre, system: US, usual: target{"ha", 1}, aliases: "acre acres"},
	{name: "ft2", dim: Area, factor: times(foot, foot), system: US, usual: target{"m2", 1}, aliases: "sq.ft sqft square.foot square.feet"},
	{name: "in2", dim: Area, factor: times(inch, inch), system: US, usual: target{"cm2", 0}, aliases: "sq.in sqin square.inch square.inches"},
	{name: "ha", dim: Area, factor: hectare, system: Metric, usual: target{"ac", 1}, aliases: "hectare hectares"},
	{name: "m2", dim: Area, factor: one, system: Metric, usual: target{"ft2", 1}, aliases: "sq.m sqm square.metre square.metres square.meter square.meters"},
	{name: "cm2", dim: Area, factor: rat("0.0001"), system: Metric, usual: target{"in2", 2}, aliases: "sq.cm sqcm"},

	{name: "s", dim: Time, factor: one, aliases: "sec secs second seconds"},
	{name: "min", dim: Time, factor: minute, aliases: "mins minute minutes"},
	{name: "h", dim: Time, factor: hour, aliases: "hr hrs hour hours H"},
	{name: "d", dim: Time, factor: times(rat("24"), hour), aliases: "day days"},
	{name: "wk", dim: Time, factor: times(rat("168"), hour), aliases: "wks week weeks"},
	{name: "mo", dim: Calendar, factor: one, aliases: "mos month months"},
	{name: "yr", dim: Calendar, factor: rat("12"), aliases: "yrs year years y"},

	{name: "lbf.ft", dim: Torque, factor: times(lbForce, foot), system: US, usual: target{"N.m", 0}, aliases: "lbft ftlb ftlbs ftlbf"},
	{name: "lbf.in", dim: Torque, factor: times(lbForce, inch), system: US, usual: target{"N.m", 1}, aliases: "lbin inlb inlbs inlbf"},
	{name: "N.m", dim: Torque, factor: one, system: Metric, usual: target{"lbf.ft", 0}, aliases: "nm newton.metre newton.metres newton.meter newton.meters"},

	{name: "psi", dim: Pressure, factor: over(lbForce, times(inch, inch)), system: US, usual: target{"bar", 1}, aliases: "psig lbf/in2 lb/in2"},
	{name: "inH2O", dim: Pressure, factor: rat("249.08891"), system: US, usual: target{"kPa", 1}, aliases: "in.h2o inch.h2o inches.h2o inches.of.water inch.of.water"},
	{name: "bar", dim: Pressure, factor: rat("100000"), system: Metric, usual: target{"psi", 0}, aliases: "bars"},
	{name: "mbar", dim: Pressure, factor: rat("100"), system: Metric, usual: target{"inH2O", 1}, aliases: "hpa millibar millibars"},
	{name: "kPa", dim: Pressure, factor: rat("1000"), system: Metric, usual: target{"psi", 0}, aliases: "kilopascal kilopascals"},
	{name: "MPa", dim: Pressure, factor: rat("1000000"), system: Metric, usual: target{"psi", 0}, aliases: "megapascal megapascals"},

	{name: "lbf", dim: Force, factor: lbForce, system: US, usual: target{"N", 0}, aliases: "pound.force"},
	{name: "N", dim: Force, factor: one, system: Metric, usual: target{"lbf", 0}, aliases: "newton newtons"},
	{name: "kN", dim: Force, factor: rat("1000"), system: Metric, usual: target{"lbf", 0}, aliases: "kilonewton kilonewtons"},
	{name: "kgf", dim: Force, factor: rat("9.80665"), system: Metric, usual: target{"lbf", 0}},

	{name: "lb", dim: Mass, factor: pound, system: US, usual: target{"kg", 1}, aliases: "lbs pound pounds"},
	{name: "oz", dim: Mass, factor: over(pound, rat("16")), system: US, usual: target{"g", 0}, aliases: "ounce ounces"},
	{name: "ton", dim: Mass, factor: ton, system: US, usual: target{"t", 2}, aliases: "tons short.ton short.tons us.ton us.tons"},
	{name: "g", dim: Mass, factor: rat("0.001"), system: Metric, usual: target{"oz", 2}, aliases: "gram grams gramme grammes"},
	{name: "kg", dim: Mass, factor: one, system: Metric, usual: target{"lb", 1}, aliases: "kgs kilo kilos kilogram kilograms"},
	{name: "t", dim: Mass, factor: tonne, system: Metric, usual: target{"ton", 2}, aliases: "tonne tonnes metric.ton metric.tons"},

	{name: "gal", dim: Volume, factor: gallon, system: US, usual: target{"L", 1}, aliases: "gals gallon gallons us.gal us.gallon us.gallons"},
	{name: "qt", dim: Volume, factor: over(gallon, rat("4")), system: US, usual: target{"L", 2}, aliases: "qts quart quarts"},
	{name: "pt", dim: Volume, factor: over(gallon, rat("8")), system: US, usual: target{"L", 2}, aliases: "pts pint pints"},
	{name: "floz", dim: Volume, factor: fluidOz, system: US, usual: target{"mL", 0}, aliases: "fl.oz fluid.ounce fluid.ounces"},
	{name: "in3", dim: Volume, factor: times(inch, inch, inch), system: US, usual: target{"cm3", 0}, aliases: "cu.in cubic.inch cubic.inches"},
	{name: "ft3", dim: Volume, factor: times(foot, foot, foot), system: US, usual: target{"m3", 2}, aliases: "cu.ft cubic.foot cubic.feet"},
	{name: "bu", dim: Volume, factor: bushel, aliases: "bushel bushels"},
	{name: "impgal", dim: Volume, factor: rat("0.00454609"), aliases: "imp.gal imperial.gallon imperial.gallons"},
	{name: "mL", dim: Volume, factor: rat("0.000001"), system: Metric, usual: target{"floz", 1}, aliases: "millilitre millilitres milliliter milliliters"},
	{name: "L", dim: Volume, factor: litre, system: Metric, usual: target{"gal", 2}, aliases: "l litre litres liter liters"},
	{name: "cm3", dim: Volume, factor: rat("0.000001"), system: Metric, usual: target{"in3", 1}, aliases: "cc ccm"},
	{name: "m3", dim: Volume, factor: one, system: Metric, usual: target{"ft3", 1}, aliases: "cubic.metre cubic.metres cubic.meter cubic.meters"},

	{name: "gal/min", dim: Flow, factor: over(gallon, minute), system: US, usual: target{"L/min", 1}, aliases: "gpm"},
	{name: "floz/min", dim: Flow, factor: over(fluidOz, minute), system: US, usual: target{"mL/min", 0}},
	{name: "gal/h", dim: Flow, factor: over(gallon, hour), system: US, usual: target{"L/h", 1}, aliases: "gph"},
	{name: "L/min", dim: Flow, factor: over(litre, minute), system: Metric, usual: target{"gal/min", 2}, aliases: "lpm"},
	{name: "mL/min", dim: Flow, factor: over(rat("0.000001"), minute), system: Metric, usual: target{"floz/min", 1}},
	{name: "L/h", dim: Flow, factor: over(litre, hour), system: Metric, usual: target{"gal/h", 2}, aliases: "lph"},
	{name: "lb/min", dim: MassFlow, factor: over(pound, minute), system: US, usual: target{"kg/min", 2}},
	{name: "kg/min", dim: MassFlow, factor: over(one, minute), system: Metric, usual: target{"lb/min", 1}},

	{name: "gal/ac", dim: VolumePerArea, factor: over(gallon, acre), system: US, usual: target{"L/ha", 0}, aliases: "gpa"},
	{name: "qt/ac", dim: VolumePerArea, factor: over(gallon, times(rat("4"), acre)), system: US, usual: target{"L/ha", 2}},
	{name: "pt/ac", dim: VolumePerArea, factor: over(gallon, times(rat("8"), acre)), system: US, usual: target{"L/ha", 2}},
	{name: "floz/ac", dim: VolumePerArea, factor: over(fluidOz, acre), system: US, usual: target{"mL/ha", 0}},
	{name: "bu/ac", dim: VolumePerArea, factor: over(bushel, acre)},
	{name: "L/ha", dim: VolumePerArea, factor: over(litre, hectare), system: Metric, usual: target{"gal/ac", 1}},
	{name: "mL/ha", dim: VolumePerArea, factor: over(rat("0.000001"), hectare), system: Metric, usual: target{"floz/ac", 1}},
	{name: "lb/ac", dim: MassPerArea, factor: over(pound, acre), system: US, usual: target{"kg/ha", 1}},
	{name: "oz/ac", dim: MassPerArea, factor: over(pound, times(rat("16"), acre)), system: US, usual: target{"g/ha", 0}},
	{name: "ton/ac", dim: MassPerArea, factor: over(ton, acre), system: US, usual: target{"t/ha", 2}},
	{name: "kg/ha", dim: MassPerArea, factor: over(one, hectare), system: Metric, usual: target{"lb/ac", 1}},
	{name: "g/ha", dim: MassPerArea, factor: over(rat("0.001"), hectare), system: Metric, usual: target{"oz/ac", 2}},
	{name: "t/ha", dim: MassPerArea, factor: over(tonne, hectare), system: Metric, usual: target{"ton/ac", 2}},

	perArea("seeds/ac", "seeds", acre, US, target{"seeds/ha", 0}), perArea("seeds/ha", "seeds", hectare, Metric, target{"seeds/ac", 0}),
	perArea("seeds/ft2", "seeds", times(foot, foot), US, target{"seeds/m2", 0}), perArea("seeds/m2", "seeds", one, Metric, target{"seeds/ft2", 1}),
	perArea("plants/ac", "plants", acre, US, target{"plants/ha", 0}), perArea("plants/ha", "plants", hectare, Metric, target{"plants/ac", 0}),
	perArea("plants/ft2", "plants", times(foot, foot), US, target{"plants/m2", 0}), perArea("plants/m2", "plants", one, Metric, target{"plants/ft2", 1}),
	perLength("seeds/ft", "seeds", foot, US, target{"seeds/m", 1}), perLength("seeds/m", "seeds", one, Metric, target{"seeds/ft", 1}),
	perLength("plants/ft", "plants", foot, US, target{"plants/m", 1}), perLength("plants/m", "plants", one, Metric, target{"plants/ft", 1}),

	{name: "mi/h", dim: Speed, factor: over(mile, hour), system: US, usual: target{"km/h", 1}, aliases: "mph"},
	{name: "ft/min", dim: Speed, factor: over(foot, minute), system: US, usual: target{"m/s", 2}, aliases: "fpm"},
	{name: "km/h", dim: Speed, factor: over(rat("1000"), hour), system: Metric, usual: target{"mi/h", 1}, aliases: "kph kmh kmph"},
	{name: "m/s", dim: Speed, factor: one, system: Metric, usual: target{"ft/min", 0}},
	{name: "ac/h", dim: AreaRate, factor: over(acre, hour), system: US, usual: target{"ha/h", 1}},
	{name: "ha/h", dim: AreaRate, factor: over(hectare, hour), system: Metric, usual: target{"ac/h", 1}},

	{name: "degF", dim: Temperature, factor: rat("5/9"), offset: rat("-160/9"), system: US, usual: target{"degC", 1}, aliases: "°f °.f deg.f f F fahrenheit"},
	{name: "degC", dim: Temperature, factor: one, system: Metric, usual: target{"degF", 1}, aliases: "°c °.c ℃ deg.c c C celsius centigrade"},

	{name: "V", dim: Voltage, factor: one, aliases: "v volt volts"},
	{name: "mV", dim: Voltage, factor: rat("0.001"), aliases: "millivolt millivolts"},
	{name: "A", dim: Current, factor: one, aliases: "amp amps ampere amperes"},
	{name: "mA", dim: Current, factor: rat("0.001"), aliases: "milliamp milliamps"},
	{name: "ohm", dim: Resistance, factor: one, aliases: "ohms \u2126 \u03a9"},
	{name: "kohm", dim: Resistance, factor: rat("1000"), aliases: "kohms k\u2126 k\u03a9"},
	{name: "hp", dim: Power, factor: times(rat("550"), foot, lbForce), system: US, usual: target{"kW", 1}, aliases: "horsepower"},
	{name: "kW", dim: Power, factor: rat("1000"), system: Metric, usual: target{"hp", 1}, aliases: "kilowatt kilowatts"},

	{name: "%", dim: Ratio, factor: rat("0.01"), aliases: "percent per.cent pct"},
	{name: "ppm", dim: Ratio, factor: rat("0.000001"), aliases: "mg/kg"},
	{name: "rpm", dim: Rotation, factor: over(one, minute), aliases: "rev/min turns/min"},
	{name: "Hz", dim: Frequency, factor: one, aliases: "hertz"},
	{name: "deg", dim: Angle, factor: one, aliases: "° degree degrees"},
}

func counted(name, aliases string) unitDef {
	return unitDef{name: name, dim: Count, factor: one, noun: name, aliases: aliases}
}

func perArea(name, noun string, area *big.Rat, s System, other target) unitDef {
	return unitDef{name: name, dim: CountPerArea, factor: over(one, area), noun: noun, system: s, usual: other}
}

func perLength(name, noun string, length *big.Rat, s System, other target) unitDef {
	return unitDef{name: name, dim: CountPerLength, factor: over(one, length), noun: noun, system: s, usual: other}
}

func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("quantity: bad factor " + s)
	}
	return r
}

func times(rs ...*big.Rat) *big.Rat {
	p := big.NewRat(1, 1)
	for _, r := range rs {
		p.Mul(p, r)
	}
	return p
}

func over(a, b *big.Rat) *big.Rat { return new(big.Rat).Quo(a, b) }

// byName holds the stored spellings and byAlias the others, folded; both are built once from the table and never written again.
var byName, byAlias = indexUnits()

func indexUnits() (names, aliases map[string]Unit) {
	names, aliases = make(map[string]Unit, len(units)), make(map[string]Unit, 4*len(units))
	for i, d := range units {
		u := Unit{uint8(i)}
		names[d.name] = u
		for _, a := range strings.Fields(d.aliases) {
			aliases[a] = u
		}
		if len(d.name) > 1 {
			aliases[fold(d.name)] = u
		}
	}
	return names, aliases
}
