package cost

import "math"

// The ages that the published table of remaining values runs over, in years.
const (
	TableFrom = 1
	TableTo   = 20
)

// RemainingValue is what a machine is worth as a fraction of the list price of a new one of its like now: (C1 - C2 sqrt(age) - C3 sqrt(hours a year))^2, held
// at 0 once the bracket is (ASABE D497 after Cross and Perry, Depreciation Patterns for Agricultural Machinery, American Journal of Agricultural Economics
// 77 (1995) 194-204; Iowa State University Extension A3-29, Table 1). Age is in years. The square root of the hours a year, which some texts print as another
// power, is what reproduces the table. Of a machine of age 0 it says what is left once it has left the dealer's yard.
func RemainingValue(v Value, age, hoursPerYear float64) (float64, error) {
	err := first(between("age", age, 0, MostYears), between("hours a year", hoursPerYear, 0, 24*366), between("value coefficient 1", v.C1, 0, 2), between("value coefficient 2", v.C2, 0, 2),
		between("value coefficient 3", v.C3, 0, 2))
	if err != nil {
		return 0, err
	}
	left := max(0, v.C1-v.C2*math.Sqrt(age)-v.C3*math.Sqrt(hoursPerYear))
	return min(1, left*left), nil
}
