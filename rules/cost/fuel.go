package cost

// Fuel use of a tractor over a year's mixed work, in US gallons an hour for each horsepower at the power take-off (Iowa State University Extension,
// Estimating Farm Machinery Costs, PM 710).
const (
	DieselPerHP   = 0.044
	GasolinePerHP = 0.060
)

// LubricationShare is what oil, grease and filters cost as a fraction of fuel (the same source).
const LubricationShare = 0.15

// FuelPerHour is the fuel a tractor of that power at the power take-off, in hp, burns in an hour over a year's mixed work, in US gallons; perHP is DieselPerHP,
// GasolinePerHP or the farm's own figure.
func FuelPerHour(powerHP, perHP float64) (float64, error) {
	if err := first(between("power", powerHP, 0, 1e5), between("fuel for each hp", perHP, 0, 1)); err != nil {
		return 0, err
	}
	return powerHP * perHP, nil
}

// Lubrication is what oil, grease and filters cost where fuel costs so much.
func Lubrication(fuelCost float64) (float64, error) {
	if err := between("cost of fuel", fuelCost, 0, Most); err != nil {
		return 0, err
	}
	return fuelCost * LubricationShare, nil
}
