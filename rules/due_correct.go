package rules

import (
	"math/big"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// atRated is a reading's value taken to the rated test condition: times (rated / actual) to the power, at one decimal more than it was read to, two at least. Flow through one opening goes with
// the root of pressure (power 1/2). A reading whose condition was not written down is judged as it is.
func atRated(def *schedule.Reading, r *Reading) record.Value {
	v := valueOf(r)
	q, ok := v.Quantity()
	if !ok {
		return v
	}
	places := max(2, decimals(q)+1)
	for _, c := range def.Correct {
		for _, at := range r.Condition {
			actual, err := at.Value.In(c.Rated.Unit(), 9)
			if at.Name != c.Condition || c.Power == nil || err != nil || actual.Sign() <= 0 || c.Rated.Sign() <= 0 {
				continue
			}
			q = q.Mul(power(new(big.Rat).Quo(c.Rated.Rat(), actual.Rat()), c.Power), places)
		}
	}
	return record.Amount(q)
}

// power is x to the power p, x above 0, to far more digits than a reading has: the whole part exactly, the root by Newton's method. Powers that no law
// of a machine has (above 12, or a root above the 12th) give 1: no correction.
func power(x, p *big.Rat) *big.Rat {
	const bits, most = 128, 12
	n, root := p.Num().Int64(), p.Denom().Int64()
	if n > most || n < -most || root > most {
		return big.NewRat(1, 1)
	}
	if n < 0 {
		x, n = new(big.Rat).Inv(x), -n
	}
	raised := big.NewRat(1, 1)
	for range n {
		raised.Mul(raised, x)
	}
	if root == 1 {
		return raised
	}
	a := new(big.Float).SetPrec(bits).SetRat(raised)
	y := new(big.Float).SetPrec(bits).SetInt64(1)
	if a.Cmp(y) > 0 {
		y.Set(a)
	}
	for range 200 { // y := y - (y - a / y^(root-1)) / root, from above: falls to the root
		under := new(big.Float).SetPrec(bits).SetInt64(1)
		for range root - 1 {
			under.Mul(under, y)
		}
		step := new(big.Float).SetPrec(bits).Quo(a, under)
		step.Sub(y, step).Quo(step, new(big.Float).SetPrec(bits).SetInt64(root))
		if step.Sign() <= 0 {
			break
		}
		y.Sub(y, step)
	}
	out, _ := y.Rat(nil)
	return out
}
