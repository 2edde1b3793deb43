package schedule

import "testing"

// A farmer's first schedule, with the mistakes that first schedules have. All are told at once, each at its very place, in plain words, with what to do.
func TestEveryMistakeAtOnce(t *testing.T) {
	rule := "small letters, digits and single dashes, a letter first, at most 40"
	testMistakes(t, []mistake{{"a first schedule", `# my first schedule for the hay rake
name = §"Hay Rake"
shedbook_schedule = 1
[counter.area]
unit = "acre"
[place.§wheel]
§cuont = 8
[part.tine]
of = §"wheels"
[setting.pressure]
of = "wheel"
type = "amount"
unit = "psi"
min = §"20 in"
[reading.tine-length]
of = "wheel"
unit = "inches"
limit = { min = 5, max = §"4 in" }
[job.grease]
severity = §"urgent"
minutes = §"ten"
when = [{ every = §"50 hours" }, { every = §50 }]
[job.tine-swap]
of = "wheel"
swaps = §"tines"
when = [{ past = §"tine-lenght" }]
cautions = [§"blade", §"jacks"]
[job.bolts]
torques = [{ what = "hub bolt", value = §"75" }, §§{ what = §"rim bolt", bolt = "1/2-13", grade = 5 }]
when = [{ after = "loosened" }, { season = §"befor" }]
next = §"greese"
[spec.oil]
value = §90
`, []string{
		`name of the schedule is "Hay Rake", which is no word: write "hay-rake": ` + rule,
		`place "wheel" has none of count and names: write one of them`,
		`unknown key "cuont" in place "wheel": did you mean "count"?`,
		`no place "wheels": did you mean "wheel"?`,
		`min of setting "pressure": "20 in" is a length, but a pressure is wanted, such as 20 psi`,
		`limit of reading "tine-length" runs from 5 in to 4 in: the upper limit must be more than the lower`,
		`severity of job "grease" is "urgent": write "stop", "soon", "winter" or "tidy"`,
		`minutes of job "grease" is "ten": write a number such as 2, 2.5 or "1/3"`,
		`every of when of job "grease": "50 hours": no counter counts in h: this kind has area in ac; count it on one of these or add a counter`,
		`every of when of job "grease" is 50 without a unit: write "50 h", "50 ac", "50 mo" or the like`,
		`no part or assembly "tines": did you mean "tine"?`,
		`no reading "tine-lenght": did you mean "tine-length"?`,
		`no caution or standard caution "blade": did you mean "blades"?`,
		`no caution or standard caution "jacks": known are ammonia, any-job, battery, blades, fire, fluids, gate, grain, hand-pump, hot, hydraulics, lift, ...`,
		`value of torques of job "bolts" is 75, a count: write "75 lbf.ft"`,
		`torques of job "bolts" has no finish: write finish = "dry" (plain, not oiled; K 0.20) or "plated" (K 0.15)`,
		`torques of job "bolts" has no joint: write joint = "flange" where plain steel bolts clamp plates; of anything else ` + manualValue,
		`no torque is computed where torques of job "bolts" says "rim": a wheel comes off when its nuts are wrong, and every wheel has its own figure: ` + manualValue,
		`season of when of job "bolts" is "befor": did you mean "before"?`,
		`no job "greese": did you mean "grease"?`,
		`value of spec "oil" is a whole number: write a text in quotes`,
	}}})
}
