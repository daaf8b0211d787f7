package sentence

import "strings"

// A Question is one thing to ask, in place: what is asked, and what the answer brings.
type Question struct{ Ask, Why string }

// An Asked names what a question is about; empty fields do not belong to it.
type Asked struct {
	Unit, File string
	Other      string  // a second file
	When       string  // a moment or day as it is to be read
	Zone       string  // an offset from UTC
	Seconds    float64 // how well something is known without the answer
}

// questions holds, by code, what is asked and why. Words in braces stand for what Asked names.
var questions = map[string]Question{
	"watched_until":   {"Until when was {file} watched?", "The file ends with the last packet, so it does not show whether {unit} ended or the recorder did. The answer turns a least run time into a run time."},
	"power_on":        {"When was {unit} switched on, {when}?", "Its start is known only to {span}."},
	"power_on_open":   {"When was {unit} switched on, before its first packet of {when}?", "Nothing shows how long it had been on by then. The answer turns a least run time into a run time."},
	"first_beacon":    {"When does {unit} send its first beacon: at once, after a fix, or after one interval?", "Without it the start has a bound on one side only."},
	"end_seen":        {"Did somebody see {unit} go off, and when?", "A noted end closes the run time without listening on."},
	"capacity":        {"What charge does the pack of {unit} hold, and how is that known?", "Without it run times can be compared, but no mean current given."},
	"pack":            {"Which pack fed {unit}?", "If one pack fed both units, its capacity cancels from the comparison."},
	"charge_used":     {"How much charge did the charger put back into the pack of {unit}?", "It is closer to what was used than a printed capacity, and also serves a run that was stopped on purpose. Nickel cells take in more than they give; then a meter in the lead tells better."},
	"rf_power":        {"What RF power of {unit} did a wattmeter show?", "A setting's name is not a power; beyond 0.5\u00a0dB apart the draw is not compared."},
	"tx_current":      {"What current does {unit} take while transmitting?", "With it one run is enough to part idle current from beacons."},
	"fix":             {"Was the GPS receiver of {unit} on?", "Searching or on, it takes 10 to 40\u00a0% of the idle current."},
	"second_receiver": {"Was a second receiver of {unit} on?", "It is the largest hidden part of the draw."},
	"audio":           {"Was the audio of {unit} turned down?", "Each packet heard aloud costs charge."},
	"power_saver":     {"Was the power saver of {unit} on?", "It changes the idle current by a factor of two or more."},
	"temperature":     {"How warm was it around {unit}?", "Cells give less in the cold; beyond 5\u00a0K apart (2\u00a0K in the cold) the draw is not compared."},
	"nominal_v":       {"What is the nominal voltage of the pack of {unit}?", "With it RF power gives the current while transmitting, which parts idle current from beacons: the draw can then be ranked at one rate, and projected to another."},
	"modulation":      {"How does {unit} modulate?", "The time on the air depends on it by a factor of four or more."},
	"power_on_zone":   {"Was {unit} switched on at {when}, and is that in the right zone?", "It lies {span} from the first packet, so it may have been noted in another zone or on another day."},
	"zone":            {"Which time zone are the times of {file} in?", "The file states none."},
	"clock_offset":    {"Was the clock of {file} {span} {when}?", "It seems so from the evidence; said, it is put right and the file stands beside the others."},
	"clock_zone":      {"Were the times of {file} written in UTC{zone}?", "The evidence puts its clock {span} {when}, and it states no zone. Said, the file stands beside the others. Where clocks were changed during the log, set a place such as Europe/Oslo instead."},
	"clock_either":    {"The clock of {file} is {span} {when} that of {other}. Which of the two is off?", "The same packets stand in both, and nothing tells which clock was right: no times within packets, no track, no third log. Once you say which, its times are moved and the copies in both files fold."},
	"day_order":       {"In which order does {file} write its dates?", "No line of the file decides it."},
	"half_day":        {"Does {file} begin before noon or after it?", "Its clock counts to twelve and no line says AM or PM. The answer moves all its times by 12 hours or leaves them."},
	"date":            {"On which day does {file} begin?", "Its lines carry the time of day only."},
}

// Ask puts a question by its code; ok is false for a code that is not known.
func Ask(code string, a Asked) (q Question, ok bool) {
	q, ok = questions[code]
	fill := strings.NewReplacer("{unit}", a.Unit, "{file}", a.File, "{other}", a.Other, "{when}", a.When, "{zone}", a.Zone, "{span}", Span(a.Seconds))
	return Question{fill.Replace(q.Ask), fill.Replace(q.Why)}, ok
}

// A Caution is a safety note and what it belongs to.
type Caution struct{ Topic, Text string }

// Cautions gives the safety notes that belong to tests of this kind, in order.
func Cautions() []Caution {
	return []Caution{
		{"cells", "Leave the radio's and the pack's own cut-off in place and recharge soon after a test; deep discharge is no method. Never charge a pack, or run one to its end, unattended."},
		{"cells", "A pack that is swollen, dented, discoloured or hot: stop, do not charge it, put it where it can do no harm. Do not charge lithium cells below 0\u00a0°C."},
		{"transmitting", "Transmit only as a licence allows, into the antenna or a load that bears the power, and keep people at the distance that exposure limits ask for."},
		{"channel", "The channel is shared: send no faster than local practice allows, with the shortest path that serves the test."},
		{"silence", "Silence is not an alarm, and being heard is not proof of safety: never rely on this page to know how somebody fares."},
		{"makers", "Makers' instructions, local rules and licensed practice come first."},
	}
}
