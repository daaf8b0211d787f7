package sentence

// A Flag is a reservation about a run: a code, the number it is about, and the moment as it is to be read.
type Flag struct {
	Code   string
	Number float64
	When   string
}

// FlagOf says what a flag means for the reader; "" for a code that is not known.
func FlagOf(f Flag) string {
	switch f.Code {
	case "schedule.undecided":
		return "No schedule is decided, so the longest gap heard, " + Span(f.Number) + ", stands for the interval and the bounds are wide."
	case "schedule.as_far_as_heard":
		return "A longer interval than any that was heard may exist."
	case "share.sinking":
		return "Towards the end only " + Percent(f.Number) + " of the beacons were heard; the bounds of the end take that share."
	case "share.bursts":
		return "Losses came in bursts: after a miss the next beacon was missed too in " + Percent(f.Number) + " of cases, which widens the bounds."
	case "start.unwatched":
		return "Nothing shows that anybody listened before the first packet, so the start has no lower bound."
	case "start.habit_unknown":
		return "When it sends its first beacon after power-on is not known, so the start has a bound on one side only."
	case "start.habit_learned":
		return "Its noted runs show that it sends its first beacon " + map[bool]string{true: "at once", false: "one interval after power-on"}[f.Number == 1] + "; the start goes by that."
	case "start.power_on_late":
		return "The power-on noted, " + f.When + ", lies after the first packet heard and is not used; check its zone."
	case "start.power_on_early":
		return "The power-on noted lies " + Span(f.Number) + " before the first packet, more than three intervals."
	case "start.power_on_quarter":
		return "The power-on noted lies " + Span(f.Number) + " before the first packet, a whole number of quarter hours; check its zone."
	case "end.unwatched":
		return "Nothing shows that anybody listened after the last packet; say until when it was watched."
	case "end.few_silent":
		return "The silence after the last packet covers " + Count(int(f.Number), "due beacon", "due beacons") + " only, too few to rule out loss."
	case "end.silent_before":
		return "The silence after the last packet covers " + Count(int(f.Number), "due beacon", "due beacons") + ", which shows no end yet: it was silent for long before and came back."
	case "end.unrepeated":
		return "This source leaves out packets that repeat, so a unit at rest looks silent in it: no end, count or rate is claimed for that time."
	case "end.whole_hours":
		return "It ended " + Count(int(f.Number), "whole hour", "whole hours") + " after power-on; check for an automatic power-off."
	case "end.afterlife":
		return Count(int(f.Number), "packet", "packets") + " from " + f.When + " on came after its useful life ended and do not count."
	case "end.afterlife_doubted":
		return Count(int(f.Number), "packet", "packets") + " from " + f.When + " on may be restarts after its useful life ended; the bounds hold both."
	case "end.transmitter_stopped":
		return "Its own log goes on until " + f.When + ", so the transmitter stopped while the radio stayed on."
	case "runtime.coarse":
		return "The run time is known to " + Percent(f.Number/100) + " only, too coarse for small differences."
	case "schedule.changed":
		return "From " + f.When + " on it beaconed by another schedule, which nobody noted. It is ranked as one charge; if the pack was changed too, note it."
	case "run.swap_suspected":
		return "Around " + f.When + " it seems to have started anew, so it is not ranked as one charge; note what happened, such as a change of packs."
	case "run.absence":
		return "From " + f.When + " on nothing of it was heard for " + Span(f.Number) + ", though its receivers listened for longer within that than its other losses explain: it may have been off or out of reach. The beacons due then are not counted as missed, for they may never have been sent. Its run time counts that silence in, and its pack may have been changed or charged meanwhile, so it is not ranked as one charge; note what happened."
	case "run.unheeded":
		return "From " + f.When + " on nothing shows that anybody listened for " + Span(f.Number) + ", so that nobody can say whether it was on all that time, and on one charge. The beacons due then are not counted as missed. Its run time counts that time in, so it is not ranked as one charge; note what happened, or when it was seen on."
	case "run.same_charge":
		return "It began with a restart on the same pack, so its run time is not that of a full charge."
	case "run.excluded":
		return Span(f.Number) + " were left out, as noted."
	case "run.few_beacons":
		return "Fewer than three beacons were heard."
	}
	return ""
}
