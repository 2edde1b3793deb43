package schedule

// AnyJob is the caution every job carries, whether its text names it or not.
const AnyJob = "any-job"

// StandardCautions are lines every schedule may name. They are common practice in our own words, no source, and no complete list of dangers: the
// operator's manual, local codes and licensed practice rule. Their words are the program's own, so that a farm's text cannot thin them out.
func StandardCautions() []Caution { return append([]Caution(nil), standardCautions...) }

var standardCautions = []Caution{
	{AnyJob, "Level ground, engine off, key out, everything at rest, brake on, wheels chocked; tell someone; hang a do-not-start tag; guards back on before starting."},
	{"raised", "Never work under anything held up by hydraulics alone: cylinder locks or rated stands first. Keep out of the crush zone of folding wings; an uncoupled hose can drop a wing."},
	{"hydraulics", "Lower to the ground, relieve the pressure, cycle the levers, accumulators too; down-force cylinders may stay charged. Look for leaks with card or wood, never a hand: fluid under the skin means hospital at once."},
	{"blades", "Edges cut: wear gloves, wedge or pin against turning, never turn one with a hand on its neighbour; mind the sharp edge opposite."},
	{"springs", "Springs, belts and tensioners hold stored force: let it down slowly and in full before undoing anything."},
	{"gate", "Lock the gate closed, or locked open, before anyone is under it; twine or net power off; never clear a plug while the drive runs."},
	{"pto", "Drive off, shaft at rest before leaving the seat; the shield turns free and is whole; a slip clutch may be hot."},
	{"wheels", "Inflate in a cage or with a clip-on chuck and a long hose, standing aside; deflate fully before loosening a split rim; lift heavy wheels and packers with a crane or wheel dolly."},
	{"spraying", "Read the label; gloves and goggles; rinse before working; never blow a nozzle out with the mouth."},
	{"ammonia", "Anhydrous ammonia: trained people only, goggles and gloves, water within reach, lines bled before opening."},
	{"hot", "Let it cool; never open the cap of a hot cooling system; oil and exhaust burn."},
	{"fire", "Clear dust and straw first; extinguisher within reach; fire watch after welding or grinding; battery negative off and electronics unplugged before welding."},
	{"grain", "Power locked off; never enter a bin or tank with grain moving; confined space: a second person outside; dust mask, for treated seed above all."},
	{"power-lines", "Look up before raising an auger or unfolding wings: keep far from power lines."},
	{"battery", "No sparks or flames near batteries; negative off first, on last; acid: goggles, gloves, water."},
	{"torque", "Calibrated wrench whose range fits; note left-hand threads; never reuse single-use nuts or locks."},
	{"two-people", "Takes two people: heavy or unsteady while loose."},
	{"hand-pump", "Hand pump only: a powered grease gun bursts hub seals. Wipe the fitting; stop when fresh grease shows or the seal lifts."},
	{"fluids", "Catch every drop, keep it off skin and soil, hand old fluid in."},
	{"lift", "Lift with tackle rated for the load; keep hands and feet from under it."},
}
