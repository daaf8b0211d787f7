package intake

import (
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// finish writes down what was settled about the file's clock, and asks what was left open.
func (d *dating) finish(f *evidence.File) {
	f.Zone, f.ZoneBasis = d.zone.Name(), d.zoneBasis
	if d.stated != "" {
		f.Zone, f.ZoneBasis = d.stated, "stated in the file"
	}
	if d.steps.n > 0 {
		f.Resolution = d.steps.seconds()
	}
	if d.fromComments && len(d.commentGaps) > 0 {
		f.Resolution = max(f.Resolution, d.commentStep().Seconds())
	}
	d.askHalf(f)
	if d.orderBasis == assumed && d.open.n > 0 {
		f.Ask = append(f.Ask, d.open.ask("day_order", namesOf(d.orders), orderName(d.order),
			"the numbers of the dates can be read in more than one order, and no line tells which"))
	}
	if d.undated.n > 0 && d.dateBasis < decided {
		why := "the stamps tell no date; spans are right, dates are not"
		if d.dateBasis == fromName {
			why = "the stamps tell no date; the one in the file's name is taken"
		}
		f.Ask = append(f.Ask, d.undated.ask("date", nil, d.placed, why))
	}
	if d.jump.n > 0 && d.zoneBasis == "assumed" {
		why := "the zone of the stamps is not clear"
		if d.shift != 0 {
			why = "the stamps jump back by about an hour and state no zone; it is taken that the clock was put back here"
		}
		f.Ask = append(f.Ask, d.jump.ask("zone", nil, d.zone.Name(), why))
	}
}

// namesOf lists orders as the bench file calls them.
func namesOf(orders clock.DateOrder) (names []string) {
	for ; orders != 0; orders &= orders - 1 {
		names = append(names, orderName(orders))
	}
	return names
}

// commentStep gives the step that nine of ten gaps between comment lines stay under.
func (d *dating) commentStep() time.Duration {
	gaps := slices.Clone(d.commentGaps)
	slices.Sort(gaps)
	return gaps[len(gaps)*9/10]
}

func (s *samples) ask(field string, choices []string, taken, why string) evidence.Ask {
	a := evidence.Ask{Field: field, Choices: choices, Taken: taken, Why: why}
	for i := range min(s.n, len(s.line)) {
		a.Lines, a.Samples = append(a.Lines, s.line[i]), append(a.Samples, s.text[i])
	}
	return a
}
