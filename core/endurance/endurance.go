// Package endurance says when each charge of a unit began and ended, how sure that is, and what the unit did meanwhile.
//
// A run is one battery charge. The last packet heard is a fact; the end is an inference: it lies between the last packet
// and the first due beacon that was not sent, and losses hide how many due beacons were sent. Units often die at the moment
// they key up, so bounds are rounded out to due times, which holds wherever in an interval a unit dies. Silence proves
// nothing unless somebody listened, and silence alone never starts a new run.
package endurance

import (
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
	"lastbeacon/core/traffic"
)

// A Subject is one unit with all that is known of it. Alive holds the stretches in which the unit's own log proves that it
// was switched on. Schedules nil means afresh every time.
type Subject struct {
	Unit      *traffic.Unit
	Timeline  motion.Timeline
	Notes     Notes
	Alive     []evidence.Span
	Schedules Schedules
}

// Schedules finds schedules, one after the other where they changed, and what was missed under them. A caller that analyses
// again may remember the answers.
type Schedules interface {
	Fit(times []clock.Instant, resolution time.Duration, m motion.Timeline) schedule.Schedule
	Segments(times []clock.Instant, resolution time.Duration, m motion.Timeline) []schedule.Segment
	Missed(times []clock.Instant, s schedule.Schedule, m motion.Timeline) schedule.Misses
}

// afresh asks package schedule every time.
type afresh struct{}

func (afresh) Fit(times []clock.Instant, resolution time.Duration, m motion.Timeline) schedule.Schedule {
	return schedule.Fit(times, resolution, m)
}

func (afresh) Segments(times []clock.Instant, resolution time.Duration, m motion.Timeline) []schedule.Segment {
	return schedule.Segments(times, resolution, m)
}

func (afresh) Missed(times []clock.Instant, s schedule.Schedule, m motion.Timeline) schedule.Misses {
	return schedule.Missed(times, s, m)
}

func (s *Subject) schedules() Schedules {
	if s.Schedules == nil {
		return afresh{}
	}
	return s.Schedules
}

// Watch tells when somebody or something listened: the files with their stamps' resolution, what the user stated about each
// (an absent side is that end of the file), and the signs of life of each receiver.
// Unrepeated lists files whose source drops repeats (traffic.Unrepeated): silence of a parked unit means nothing in them.
type Watch struct {
	Files      []evidence.File
	Stated     []Stated
	Presence   []evidence.Presence
	Unrepeated []evidence.FileID
}

// Stated is one stretch in which the recorder of a file is known to have listened; clock.None is that end of the file.
type Stated struct {
	File evidence.FileID
	Span evidence.Span
}

// A State says how a run ended, as far as can be known.
type State string

const (
	Ended          State = "ended"              // silent through enough listening that loss alone is below 1 %
	OnAirAtLogEnd  State = "on_air_at_log_end"  // heard up to the end of the listening
	Lost           State = "lost"               // moving or fading at the last packet
	Stopped        State = "stopped"            // switched off, charged or changed on purpose
	NotedEnd       State = "noted"              // somebody saw it end
	RecorderSilent State = "recorder_suspected" // all units of a receiver fell silent together
	NotHeard       State = "not_heard"          // nothing of it was heard: of its end nothing is known
	Asleep         State = "asleep_when_parked" // it was silent at one place before and went on from there
)

// Closed tells whether the state closes a run time; the others leave it open above.
func (s State) Closed() bool { return s == Ended || s == NotedEnd }

// A StartBasis says what the begin of a run rests on.
type StartBasis string

const (
	PowerOn    StartBasis = "power_on"
	FirstHeard StartBasis = "first_heard"
	Restart    StartBasis = "restart"
	TypedIn    StartBasis = "typed"
)

// A LawPoint is one point of a piecewise linear curve of chance over time.
type LawPoint struct {
	At clock.Instant
	P  float64
}

// A Flag is a reservation about a run: a stable code, and the number or moment it is about where there is one.
type Flag struct {
	Code   string
	Number float64
	At     clock.Instant // clock.None when it is about no moment
}

// Codes of flags.
const (
	FlagUndecided      = "schedule.undecided" // the longest gap heard serves as the interval; Number: seconds
	FlagAsFarAsHeard   = "schedule.as_far_as_heard"
	FlagSinking        = "share.sinking"           // the last part was heard worse; Number: its share
	FlagBursts         = "share.bursts"            // losses came in bursts; Number: chance of a miss after a miss
	FlagUnwatchedStart = "start.unwatched"         // nothing proves listening before the first packet
	FlagHabitUnknown   = "start.habit_unknown"     // when the unit first beacons after power-on is not known
	FlagHabitLearned   = "start.habit_learned"     // from noted runs of the unit; Number: the FirstBeacon
	FlagPowerOnLate    = "start.power_on_late"     // noted after the first packet, so not used; At: as noted
	FlagPowerOnEarly   = "start.power_on_early"    // noted more than three intervals before it; Number: seconds between
	FlagPowerOnZone    = "start.power_on_quarter"  // a whole number of quarter hours before it: another zone? Number: seconds
	FlagUnwatchedEnd   = "end.unwatched"           // nothing proves listening after the last packet
	FlagFewSilent      = "end.few_silent"          // listened, but not long enough; Number: due beacons missed
	FlagSilentBefore   = "end.silent_before"       // listened, but it had fallen silent for long before and come back; Number: due beacons missed
	FlagUnrepeated     = "end.unrepeated"          // the source drops repeats, so a parked unit looks dead in it
	FlagWholeHours     = "end.whole_hours"         // ended a whole number of hours after power-on: switched off by itself? Number: hours
	FlagAfterlife      = "end.afterlife"           // packets after the end of useful life; Number: how many, At: the first
	FlagMayBeAfterlife = "end.afterlife_doubted"   // the last packets may be restarts after useful life; Number: how many, At: the first
	FlagTransmitter    = "end.transmitter_stopped" // its own log goes on after its last packet; At: the log's last sign
	FlagCoarse         = "runtime.coarse"          // half-width above 5 % of the run time; Number: percent
	FlagChanged        = "schedule.changed"        // nobody noted it; At: the first beacon of the new schedule
	FlagSwap           = "run.swap_suspected"      // perhaps more than one charge; At: when
	FlagUnheeded       = "run.unheeded"            // nobody listened for a large part of it; Number: seconds, At: the last packet before
	FlagAbsence        = "run.absence"             // silent for longer than loss explains; Number: seconds, At: the last packet before
	FlagSameCharge     = "run.same_charge"         // begins with a restart on the same pack
	FlagExcluded       = "run.excluded"            // stretches were left out; Number: seconds
	FlagShort          = "run.few_beacons"         // fewer than three beacons heard
)

// DoubtsCharge tells whether a flag speaks against a run being one full charge.
func DoubtsCharge(code string) bool {
	return code == FlagSwap || code == FlagAbsence || code == FlagUnheeded || code == FlagSameCharge
}

// A Run is one battery charge of one unit, from power-on to the last transmission it could make. FirstHeard and LastHeard are
// facts; Start and End are inferences and carry their bounds (95 %). Times are UTC. ShareHeard is 0 to 1, Rate is per hour
// of what was sent, Runtime is in seconds and open above unless State is closed.
type Run struct {
	Label                 string
	Noted                 int // index into Notes.Runs; -1 when no noted run belongs to it
	Start                 clock.Between
	Basis                 StartBasis
	StartLaw              []LawPoint // chance that the unit was on by then; empty when noted
	FirstHeard, LastHeard clock.Instant
	End                   clock.Between
	State                 State
	EndLaw                []LawPoint // chance that the unit was still on then
	Runtime               estimate.Estimate
	Rankable              bool
	Transmissions         []int             // indexes into Unit.Transmissions, all of the charge
	Afterlife             []int             // of these, the ones after useful life ended: restarts and late packets
	Schedule              schedule.Schedule // the one in force at the end
	Parts                 []Part            // by schedule, in order of time; one when it was never changed
	ShareHeard, Missed    estimate.Estimate
	MissedAt              []clock.Instant // due and not heard, between FirstHeard and LastHeard
	Expected              []Expectation
	Sent, Rate            estimate.Estimate
	Periods               []Tally
	Deaf                  []evidence.Span // stretches in which no receiver of this unit gave a sign of life
	Events                []Event
	Flags                 []Flag
	Now                   *Now // while the run may still be going on; nil when it has ended, or long been silent
}

// A Part is a stretch of a run under one schedule, from its first beacon heard to its last. Beacons are indexes into
// Unit.Transmissions.
type Part struct {
	From, Until clock.Instant
	Schedule    schedule.Schedule
	Beacons     []int
}

// An Expectation is the interval in seconds that the schedule expects after a beacon heard at At.
type Expectation struct {
	At       clock.Instant
	Interval float64
}

// A Tally is a period of motion with what the unit did in it. Interval sums up the gaps in seconds between beacons heard one
// after the other inside the period, all zero when there were fewer than two. Rate is per hour of what was sent.
type Tally struct {
	motion.Period
	Transmissions int
	Missed        estimate.Estimate
	Interval      Interval
	Rate          estimate.Estimate
}

// An Interval sums up gaps in seconds.
type Interval struct{ Min, Median, Mean, Max float64 }
