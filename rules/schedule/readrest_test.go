package schedule

import "testing"

func TestRestMistakes(t *testing.T) {
	testMistakes(t, []mistake{
		{"rows overlap", prelude + "[setting.h]\nof = \"row\"\ntype = \"amount\"\nunit = \"in\"\n[relation.r]\nthing = \"h\"\nby = \"wear\"\nrows = [\n" +
			"{ from = \"1 in\", to = \"3 in\", min = \"1 in\", max = \"2 in\" },\n{ from = §\"2 in\", to = \"4 in\", min = \"1 in\", max = \"2 in\" }]\n",
			[]string{`row 2 of relation "r" overlaps row 1: let each row begin where the last one ends`}},
		{"relation over other places", prelude + "[reading.w]\nof = \"wheel\"\nunit = \"in\"\n[relation.r]\nthing = \"w\"\nby = §\"wear\"\nrows = [{ from = 1, to = 2, min = 1, max = 2 }]\n",
			[]string{`"w" is of wheel, "wear" of row: both are of the same places, or the second is of the machine`}},
		{"set-up of nothing", prelude + "[setup.u]\nvalues = [{ setting = §\"dept\", to = 3 }]\n", []string{`no setting "dept": did you mean "depth"?`}},
		{"set-up out of range", prelude + "[setup.u]\nvalues = [{ setting = \"depth\", to = §30 }]\n",
			[]string{`to of a value of setup "u": depth cannot be 30: it goes from 1 to 10`}},
		{"spec without value", prelude + "[spec.§oil]\n", []string{`spec "oil" has no value: write the line of the spec card`}},
		{"standard caution rewritten", prelude + "[caution.§blades]\ntext = \"mind them\"\n",
			[]string{`caution "blades" is a standard one and keeps its words: give yours another name and list both`}},

		{"relation of little", prelude + "[relation.§§r]\nthing = \"wear\"\n",
			[]string{`relation "r" has no by: a relation says what thing may be at each value of by`, `relation "r" has no rows: a relation says what thing may be at each value of by`}},
		{"relation of words", prelude + "[reading.g]\nof = \"row\"\ngrades = [\"a\", \"b\"]\n[relation.r]\nthing = §\"g\"\nby = \"wear\"\nrows = { from = 1, to = 2, min = 1, max = 2 }\n",
			[]string{`relation "r" judges "g", which is a word: only amounts have ranges`}},
		{"relation at other places", prelude + "[relation.r]\nof = §\"wheel\"\nthing = \"wear\"\nby = \"depth\"\nrows = { from = 1, to = 2, min = 1, max = 2 }\n",
			[]string{`relation "r" is of wheel, but "wear" is of row: leave it out`}},
		{"row without word", prelude + "[setting.c]\ntype = \"choice\"\nchoices = [\"a\", \"b\"]\n[relation.r]\nthing = \"wear\"\nby = \"c\"\nrows = §{ min = 1, max = 2 }\n",
			[]string{`row 1 of relation "r" has no is: name one of "a" or "b"`}},
		{"row with a wrong word", prelude + "[setting.c]\ntype = \"choice\"\nchoices = [\"aaa\", \"bbb\"]\n[relation.r]\nthing = \"wear\"\nby = \"c\"\nrows = { is = §\"aab\", min = 1, max = 2 }\n",
			[]string{`is of row 1 of relation "r" is "aab": did you mean "aaa" or "bbb"?`}},
		{"row without range", prelude + "[relation.r]\nthing = \"wear\"\nby = \"depth\"\nrows = §{ min = 1, max = 2 }\n",
			[]string{`row 1 of relation "r" has no from and to: say for which values the row holds`}},
		{"row backwards", prelude + "[relation.r]\nthing = \"wear\"\nby = \"depth\"\nrows = { from = 3, to = §2, min = 1, max = 2 }\n", []string{`row 1 of relation "r" runs from 3 to 2: from is the lesser`}},
		{"row allows nothing", prelude + "[relation.r]\nthing = \"wear\"\nby = \"depth\"\nrows = { from = 1, to = 2, min = 3, max = §2 }\n",
			[]string{`row 1 of relation "r" allows 3 in to 2 in: min is the lesser`}},
		{"row says not what", prelude + "[relation.r]\nthing = \"wear\"\nby = \"depth\"\nrows = §{ from = 1, to = 2, min = 3 }\n", []string{`row 1 of relation "r" has no min and max: say what the thing may be`}},
		{"set-up without values", prelude + "[setup.§u]\n", []string{`setup "u" has no values: write values = [{ setting = "depth", to = 4 }]`}},
		{"set-up of what", prelude + "[setup.u]\nvalues = §{ to = 4 }\n", []string{`a value of setup "u" has no setting: name it`}},
		{"set-up to what", prelude + "[setup.u]\nvalues = §{ setting = \"depth\" }\n", []string{`a value of setup "u" has no to: say what it is set to`}},
		{"set-up to a flag", prelude + "[setup.u]\nvalues = { setting = \"depth\", to = §true }\n", []string{`to of a value of setup "u" is true or false: write an amount or a word`}},
		{"set-up nowhere", prelude + "[setup.u]\nvalues = [{ setting = \"depth\", to = 3 }, { setting = \"depth\", where = §\"row/9\", to = 4 }]\n",
			[]string{`where of a value of setup "u": "row/9" names no place: this machine has rows 1 to 8`}},
		{"set-up at other places", prelude + "[setup.u]\nvalues = { setting = \"depth\", where = §\"wheels\", to = 4 }\n",
			[]string{`where of a value of setup "u": "wheels" is no row: this machine has rows 1 to 8`}},
		{"caution of no words", prelude + "[caution.§c]\n", []string{`caution "c" has no text: write the one line to be printed`}},
	})
}
