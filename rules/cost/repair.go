package cost

import "math"

// AccumulatedRepair is what repair and upkeep of a machine have cost from new to so many hours of work: list x RF1 x (hours/1000)^RF2, in the currency and the
// prices of the list price, which is that of a new machine of its like now (ASABE D497; Iowa State University Extension A3-29, Table 3). It is an average
// over many farms: parts, labour and outside work, not fuel, oil or grease. Beyond the class's Life it goes on rising; nothing published stands there.
func AccumulatedRepair(r Repair, list, hours float64) (float64, error) {
	err := first(between("list price", list, 0, Most), between("hours", hours, 0, 1e6), between("repair factor 1", r.RF1, 0, 1e3), between("repair factor 2", r.RF2, 0, 5))
	if err != nil {
		return 0, err
	}
	return list * r.RF1 * math.Pow(hours/1000, r.RF2), nil
}
