package quantity

// Dimension is the kind of a quantity. Amounts of one dimension convert into one another (counts of different things excepted).
type Dimension uint8

// The dimensions. The zero Dimension is a count: a bare number, or a number of named things.
const (
	Count Dimension = iota
	Length
	Area
	Time
	Calendar // months and years: no fixed number of days
	Torque
	Pressure
	Force
	Mass
	Volume
	Flow     // volume per time
	MassFlow // mass per time
	VolumePerArea
	MassPerArea
	CountPerArea
	CountPerLength
	Speed
	AreaRate // area per time: field capacity
	Temperature
	Voltage
	Current
	Resistance
	Power
	Ratio // % and ppm
	Rotation
	Frequency
	Angle
)

var dimensionNames = [...]string{
	Count: "count", Length: "length", Area: "area", Time: "time", Calendar: "calendar span", Torque: "torque", Pressure: "pressure",
	Force: "force", Mass: "mass", Volume: "volume", Flow: "flow", MassFlow: "mass flow", VolumePerArea: "volume per area",
	MassPerArea: "mass per area", CountPerArea: "count per area", CountPerLength: "count per length", Speed: "speed",
	AreaRate: "area per time", Temperature: "temperature", Voltage: "voltage", Current: "current", Resistance: "resistance",
	Power: "power", Ratio: "ratio", Rotation: "rotation speed", Frequency: "frequency", Angle: "angle",
}

// String is the plain name: "length", "volume per area".
func (d Dimension) String() string {
	if int(d) < len(dimensionNames) {
		return dimensionNames[d]
	}
	return "unknown dimension"
}

// article is the name with "a" or "an" before it.
func (d Dimension) article() string {
	s := d.String()
	switch s[0] {
	case 'a', 'u':
		return "an " + s
	}
	return "a " + s
}
