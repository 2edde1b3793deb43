package cost

import "math"

// Rates of interest that are taken, as fractions of one.
const (
	LowestRate  = -0.5
	HighestRate = 1.0
)

// RealRate is the rate of interest with the rise of prices taken out: nominal less inflation, all fractions of one. Plain subtraction is the published rule
// (Iowa State University Extension, Estimating Farm Machinery Costs, PM 710: 8 % less 3 % is 5 %); it is above the exact (1+n)/(1+f)-1 by about the
// product of the two.
func RealRate(nominal, inflation float64) (float64, error) {
	err := first(between("interest", nominal, LowestRate, HighestRate), between("inflation", inflation, LowestRate, HighestRate),
		between("interest less inflation", nominal-inflation, LowestRate, HighestRate))
	if err != nil {
		return 0, err
	}
	return nominal - inflation, nil
}

// RecoveryFactor is the capital recovery factor i(1+i)^n / ((1+i)^n - 1): the part of a sum that must be paid at the end of each of n years to pay it back
// with interest i, a fraction of one. At a rate of 0 it is 1/n.
func RecoveryFactor(rate, years float64) (float64, error) {
	if err := first(between("rate", rate, LowestRate, HighestRate), between("years", years, 1.0/12, MostYears)); err != nil {
		return 0, err
	}
	if math.Abs(rate) < 1e-9 {
		return (1 + rate*(years+1)/2) / years, nil // the first two terms of its series: exact to 1e-14 here
	}
	return rate / -math.Expm1(-years*math.Log1p(rate)), nil // the same, without losing digits at small rates
}

// CapitalRecovery is the yearly cost of the capital in a machine: depreciation times the recovery factor, plus interest on what it will be sold for
// (Iowa State University Extension, Estimating Farm Machinery Costs, PM 710). Price is what was paid, salvage what it is worth after those years, rate the
// real rate of interest as a fraction of one. A machine that gains in worth may cost nothing, or bring something: the result can be below zero there and only there.
func CapitalRecovery(price, salvage, rate, years float64) (float64, error) {
	if err := first(between("price", price, 0, Most), between("salvage", salvage, 0, Most)); err != nil {
		return 0, err
	}
	f, err := RecoveryFactor(rate, years)
	if err != nil {
		return 0, err
	}
	return (price-salvage)*f + salvage*rate, nil
}
