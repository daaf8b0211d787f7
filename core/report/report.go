// Package report is the shape of the answer: what one analysis says, as JSON of schema lastbeacon.report/1. It holds values
// only and rounds them once, when they are written. Times are RFC 3339 UTC; seconds, metres, m/s, mA, mAh, mW, mWh.
package report

// Schema names this shape; a meaning changes only with the number.
const Schema = "lastbeacon.report/1"

// A Time is RFC 3339 UTC.
type Time = string

// An Instant is Unix milliseconds.
type Instant = float64

// An Estimate is a number with its 2.5 % and 97.5 % limits and its median. A null limit is open on that side; a null
// estimate is unknown, which is never 0.
type Estimate struct {
	Low  *float64 `json:"low"`
	Best *float64 `json:"best"`
	High *float64 `json:"high"`
}

// A Report is the whole answer to one bench.
type Report struct {
	Schema      string       `json:"schema"`
	Version     string       `json:"version"`
	Title       string       `json:"title"`
	DisplayZone string       `json:"display_zone"`
	Evidence    []File       `json:"evidence"`
	Notes       []Note       `json:"notes"`
	Stations    []Station    `json:"stations"`
	StationsAll int          `json:"stations_all"` // how many were heard; Stations is cut to the most heard
	Tracks      []Track      `json:"tracks"`
	Proposals   []Proposal   `json:"proposals"`
	Units       []Unit       `json:"units"`
	Comparisons []Comparison `json:"comparisons"`
	Kinds       []Comparison `json:"kinds"` // kinds of unit, where several specimens of one were tested
	Outlook     []Outlook    `json:"outlook"`
	NextTest    *NextTest    `json:"next_test"`
	Questions   []Question   `json:"questions"`
	Cautions    []Caution    `json:"cautions"`
}

// A File is one dropped file after it was read. Lines = used + NotUsed + Empty.
type File struct {
	ID             int     `json:"id"`
	File           string  `json:"file"`
	SHA256         string  `json:"sha256"`
	Kind           string  `json:"kind"`
	Format         string  `json:"format"`
	Bytes          int64   `json:"bytes"`
	Lines          int     `json:"lines"`
	Packets        int     `json:"packets"`
	Fixes          int     `json:"fixes"`
	Readings       int     `json:"readings"`
	NotUsed        int     `json:"not_used"`
	Empty          int     `json:"empty"`
	Again          int     `json:"again"`
	First          *Time   `json:"first"`
	Last           *Time   `json:"last"`
	Zone           string  `json:"zone"`
	ZoneBasis      string  `json:"zone_basis"`
	TimeResolution float64 `json:"time_resolution_s"`
	// How far the file's clock seems to be ahead, and from what: two_logs | packet_time | track. Null when it seems right.
	SuggestedOffset *Estimate `json:"suggested_offset_s"`
	OffsetBasis     string    `json:"offset_basis"`
	// The log it stands against, for two_logs; either when nothing tells which of the two clocks is off.
	OffsetAgainst string  `json:"offset_against"`
	OffsetEither  bool    `json:"offset_either"`
	SuggestedZone string  `json:"suggested_zone"` // such as +02:00, where the file states none and that explains the offset
	Watched       []Watch `json:"watched"`
	Asks          []Ask   `json:"asks"`
	// What the columns of a table, or the fields of objects, were taken for.
	Columns []Column `json:"columns"`
}

// A Column is one column of a table: its place from 1, its header (empty where there are none), its first value, and what it
// was taken for, "none" where it is not used; said when somebody said so.
type Column struct {
	No      int    `json:"no"`
	Header  string `json:"header"`
	Sample  string `json:"sample"`
	Meaning string `json:"meaning"`
	Said    bool   `json:"said"`
}

// A Watch is a stretch in which somebody or something proves that the recorder lived.
type Watch struct {
	From  Time   `json:"from"`
	Until Time   `json:"until"`
	Basis string `json:"basis"` // stated | heard_others | comment_lines
}

// An Ask is a decision about a file that its content leaves open.
type Ask struct {
	Field   string   `json:"field"`
	Choices []string `json:"choices"`
	Taken   string   `json:"taken"`
	Why     string   `json:"why"`
	Lines   []int    `json:"lines"`
	Samples []string `json:"samples"`
}

// A Note says that lines of a file were odd, and what can be done.
type Note struct {
	File    string `json:"file"`
	Line    int    `json:"line"`
	Column  int    `json:"column"`
	Code    string `json:"code"`
	Text    string `json:"text"`
	Help    string `json:"help"`
	Excerpt string `json:"excerpt"`
	Count   int    `json:"count"`
	Unused  bool   `json:"unused"`
}

// A Station is one call sign heard.
type Station struct {
	Station         string   `json:"station"`
	Destinations    []string `json:"destinations"`
	Comments        []string `json:"comments"`
	Sample          string   `json:"comment_sample"` // its first comment, where none is known to have come again
	Heard           int      `json:"heard"`
	Duplicates      int      `json:"duplicates"`
	Transmissions   int      `json:"transmissions"`
	First           *Time    `json:"first"`
	Last            *Time    `json:"last"`
	TypicalInterval *float64 `json:"typical_interval_s"`
	Internet        int      `json:"internet"`
	Units           []string `json:"units"`
}

// A Track is one recorded GPS track with its own periods.
type Track struct {
	File      string   `json:"file"`
	Name      string   `json:"name"`
	Unit      string   `json:"unit"`
	Fixes     int      `json:"fixes"`
	DistanceM float64  `json:"distance_m"`
	Periods   []Period `json:"periods"`
}

// A Proposal is a unit that the evidence suggests; Match is ready for the bench file.
type Proposal struct {
	Name          string  `json:"name"`
	Match         []Match `json:"match"`
	Transmissions int     `json:"transmissions"`
	Text          string  `json:"text"`
	Strong        bool    `json:"strong"` // beacons like a unit under test: often, alone or told apart by its comment
}

// A Match is one rule of the bench file.
type Match struct {
	Station     string `json:"station,omitempty"`
	Comment     string `json:"comment,omitempty"`
	Destination string `json:"destination,omitempty"`
	Symbol      string `json:"symbol,omitempty"`
	Encoding    string `json:"encoding,omitempty"`
	From        *Time  `json:"from,omitempty"`
	Until       *Time  `json:"until,omitempty"`
}

// A Unit is one radio under test.
type Unit struct {
	Counts
	Kind          string         `json:"kind"`
	Acknowledged  int            `json:"acknowledged"` // messages of others that it answered
	ForOthersS    *Estimate      `json:"for_others_s"` // time on the air for both
	CurrentFixPct *float64       `json:"current_fix_pct"`
	Runs          []Run          `json:"runs"`
	IdleAndBeacon *IdleAndBeacon `json:"idle_and_beacon"`
}

// Counts is what a unit's rules come to, in packets.
type Counts struct {
	Name          string `json:"name"`
	Heard         int    `json:"heard"`
	Duplicates    int    `json:"duplicates"`
	Transmissions int    `json:"transmissions"`
	Unassigned    int    `json:"unassigned"`
	Contested     int    `json:"contested"`
	Relayed       int    `json:"relayed"` // packets of others that it repeated
	Internet      int    `json:"internet"`
}

// A Run is one battery charge of one unit.
type Run struct {
	Label         string    `json:"label"`
	Noted         int       `json:"noted"` // which of the unit's runs in the bench file it is, from 0; -1 when none
	Start         Start     `json:"start"`
	LastHeard     *Time     `json:"last_heard"`
	FirstHeard    *Time     `json:"first_heard"`
	End           End       `json:"end"`
	Runtime       *Estimate `json:"runtime_s"`
	Rankable      bool      `json:"rankable"`
	Transmissions int       `json:"transmissions"`
	Missed        *Estimate `json:"missed"`
	ShareHeard    *Estimate `json:"share_heard"`
	Sent          *Estimate `json:"sent"`
	Rate          *Estimate `json:"rate_per_h"` // of what was sent, over the run
	Schedule      Schedule  `json:"schedule"`   // the one in force at the end
	Periods       []Period  `json:"periods"`
	Airtime       *Estimate `json:"airtime_s"`
	Path          *string   `json:"path"`     // that most of its packets asked for, entries joined by commas, "" for none
	BusyPct       *float64  `json:"busy_pct"` // share of the time that others' packets filled the channel
	Charge        *Charge   `json:"charge"`
	Draw          *Draw     `json:"draw"`
	Budget        []Part    `json:"budget"`
	Series        []Series  `json:"series"`
	Events        []Event   `json:"events"`
	Flags         []Flag    `json:"flags"`
	// One schedule after the other, where it was changed in the run; empty where it was not.
	Schedules []Scheduled `json:"schedules"`
	Now       *Now        `json:"now"` // while the run may still be going on
	// Where the run stands in a report saved earlier, whose figures it takes over; null for a run of the evidence.
	Saved *SavedFrom `json:"saved"`
}

// SavedFrom names a run of a report saved earlier: its file and SHA-256, the version that wrote it, the unit and run in it.
type SavedFrom struct {
	File    string `json:"file"`
	SHA256  string `json:"sha256"`
	Version string `json:"version"`
	Unit    string `json:"unit"`
	Run     int    `json:"run"` // from 1
}

// Scheduled is a stretch of a run under one schedule.
type Scheduled struct {
	From     Time     `json:"from"`
	Until    Time     `json:"until"`
	Schedule Schedule `json:"schedule"`
}

// Now is how a run stands at the end of the listening, the last sign of life of its receivers: due beacons missed since the
// last packet and the chance (0 to 1) that a unit that still sends is silent so long by loss alone, null where not known;
// since when the interval has been lengthening; and the end that earlier runs foretell. It is no safety alarm.
type Now struct {
	ListenedUntil     Time     `json:"listened_until"`
	SinceLastHeard    float64  `json:"since_last_heard_s"`
	DueMissed         *int     `json:"due_missed"`
	ChanceByLossAlone *float64 `json:"chance_by_loss_alone"`
	SlowingSince      *Time    `json:"slowing_since"`
	ExpectedEnd       *Bounds  `json:"expected_end"`
	Outlook           string   `json:"outlook"` // when it should end by earlier runs, or what that waits for
	Text              string   `json:"text"`
}

// Bounds are a moment with its 95 % limits; a null one is open.
type Bounds struct {
	Earliest *Time `json:"earliest"`
	Best     *Time `json:"best"`
	Latest   *Time `json:"latest"`
}

// A Start is when the charge began.
type Start struct {
	Earliest *Time      `json:"earliest"`
	Best     *Time      `json:"best"`
	Latest   *Time      `json:"latest"`
	Basis    string     `json:"basis"` // power_on | first_heard | restart | typed
	Law      []LawPoint `json:"law"`   // chance that the unit was on the air by that time; empty when exact
}

// An End is when the charge ended, if it did.
type End struct {
	Earliest *Time      `json:"earliest"`
	Best     *Time      `json:"best"`
	Latest   *Time      `json:"latest"`
	State    string     `json:"state"`
	Text     string     `json:"text"`
	Reason   string     `json:"reason"` // what it rests on, without the times
	Law      []LawPoint `json:"law"`    // chance that the unit was still on the air at that time
}

// A LawPoint is one point of a piecewise linear curve of chance over time.
type LawPoint struct {
	At Time    `json:"at"`
	P  float64 `json:"p"`
}

// A Schedule is the rule that spaced the beacons.
type Schedule struct {
	Kind                 string    `json:"kind"`
	Interval             *Estimate `json:"interval_s"`
	Jitter               *float64  `json:"jitter_s"`
	BeaconsBeforeDecay   *int      `json:"beacons_before_decay"`
	Growth               *float64  `json:"growth"`
	Longest              *float64  `json:"longest_s"`
	SlowInterval         *float64  `json:"slow_interval_s"`
	FastInterval         *float64  `json:"fast_interval_s"`
	SlowSpeed            *float64  `json:"slow_speed_mps"`
	FastSpeed            *float64  `json:"fast_speed_mps"`
	MetresBetweenBeacons *float64  `json:"metres_between_beacons"`
	Resolved             []string  `json:"resolved"`
	AsFarAsHeard         bool      `json:"as_far_as_heard"`
	Text                 string    `json:"text"`
}

// A Period is a stretch in which the unit was stationary, moving, or nobody knows.
type Period struct {
	State         string    `json:"state"`
	Start         Time      `json:"start"`
	End           Time      `json:"end"`
	StartBetween  [2]*Time  `json:"start_between"`
	EndBetween    [2]*Time  `json:"end_between"`
	Inferred      bool      `json:"inferred"`
	Transmissions int       `json:"transmissions"`
	Missed        *Estimate `json:"missed"`
	Interval      *Interval `json:"interval_s"`
	Rate          *Estimate `json:"rate_per_h"`
	Distance      *Estimate `json:"distance_m"`
	MeanSpeed     *float64  `json:"mean_mps"`
	MaxSpeed      *float64  `json:"max_mps"`
}

// An Interval sums up the gaps between the beacons heard in a period, in seconds.
type Interval struct {
	Min    float64 `json:"min"`
	Median float64 `json:"median"`
	Mean   float64 `json:"mean"`
	Max    float64 `json:"max"`
}

// A Charge is what the run took from its battery, in mAh.
type Charge struct {
	MAh   *Estimate `json:"mah"`
	Basis string    `json:"basis"` // measured | recharged | printed | printed_used | meter
}

// A Draw is what the run took per time and per transmission.
type Draw struct {
	MeanMA             *Estimate `json:"mean_ma"`
	MAhPerMin          *Estimate `json:"mah_per_min"`
	MeanMW             *Estimate `json:"mean_mw"`
	EnergyMWh          *Estimate `json:"energy_mwh"`
	CRate              *Estimate `json:"c_rate"`
	MAhPerTransmission *Estimate `json:"mah_per_transmission"`
	Text               string    `json:"text"`
}

// A Part is one line of an uncertainty budget: a relative standard uncertainty in percent, evaluated by statistics (A) or
// by other means (B).
type Part struct {
	Source      string  `json:"source"`
	Name        string  `json:"name"` // the source in words
	Type        string  `json:"type"`
	RelativePct float64 `json:"relative_pct"`
	Assumed     bool    `json:"assumed"` // nobody measured or stated it
}

// A Series is a value that varied over a run, such as a voltage in the comments.
type Series struct {
	Name   string        `json:"name"`
	Unit   string        `json:"unit"`
	Source string        `json:"source"`
	First  float64       `json:"first"`
	Last   float64       `json:"last"`
	Points []SeriesPoint `json:"points"`
}

// A SeriesPoint is one value of a Series.
type SeriesPoint struct {
	At Time    `json:"at"`
	V  float64 `json:"v"`
}

// An Event is something that happened to a unit: noted by a person, or suspected from the evidence.
type Event struct {
	At         Time    `json:"at"`
	PrecisionS float64 `json:"precision_s"`
	What       string  `json:"what"`
	Basis      string  `json:"basis"`
	Text       string  `json:"text"`
}

// A Flag is a reservation about a run.
type Flag struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// IdleAndBeacon splits a unit's draw into what flows without beacons and what one more beacon costs.
type IdleAndBeacon struct {
	IdleMA       *Estimate `json:"idle_ma"`
	MAhPerBeacon *Estimate `json:"mah_per_beacon"`
	Basis        string    `json:"basis"`
	Runs         int       `json:"runs"`
	Resolved     bool      `json:"resolved"`
	Text         string    `json:"text"`
}

// A Comparison sets unit A beside unit B.
type Comparison struct {
	A              string       `json:"a"`
	B              string       `json:"b"`
	Runtime        Verdict      `json:"runtime"`
	Draw           Verdict      `json:"draw"`
	RateRatio      *Estimate    `json:"rate_ratio"`
	RateExplainsMA *Estimate    `json:"rate_explains_ma"`
	AtEqualRate    *EqualRate   `json:"at_equal_rate"`
	Conditions     []Condition  `json:"conditions"`
	Alike          Alike        `json:"alike"`
	LikeForLike    string       `json:"like_for_like"` // which of the two verdicts compares like with like: the words before the tally
	Fairness       string       `json:"fairness"`      // the conditions summed up in a sentence
	Groups         []Comparison `json:"groups"`        // the same pair, test by test, where several were made
	Label          string       `json:"label"`
	Exchanged      *Exchanged   `json:"exchanged"` // where both units ran on the same two packs
}

// Exchanged sets the units' and the packs' effects on run time apart: ratios of a over b, and of the first pack over the second.
type Exchanged struct {
	Unit   *Estimate `json:"unit_ratio"`
	Pack   *Estimate `json:"pack_ratio"`
	First  string    `json:"first"`
	Second string    `json:"second"`
}

// A Verdict is one answer: Ratio is a over b, Text says who, what, both numbers; Basis what it rests on and assumes.
type Verdict struct {
	Ratio   *Estimate `json:"ratio"`
	Verdict string    `json:"verdict"`
	Text    string    `json:"text"`
	Basis   string    `json:"basis"`
	A       *Estimate `json:"a"` // the value behind the ratio: seconds, or mA (mW where the packs' voltages differ)
	B       *Estimate `json:"b"`
}

// EqualRate is the draw ratio if both sent at one rate.
type EqualRate struct {
	RatePerH float64   `json:"rate_per_h"`
	Ratio    *Estimate `json:"ratio"`
}

// A Condition is one line of the like-for-like list.
type Condition struct {
	Check string `json:"check"`
	Name  string `json:"name"`
	State string `json:"state"` // match | corrected | mismatch | not_noted
	A     string `json:"a"`
	B     string `json:"b"`
	Text  string `json:"text"`
}

// Alike says whether the two schedules are the same, as soon as that can be known.
type Alike struct {
	Verdict   string `json:"verdict"`
	CertainAt *Time  `json:"certain_at"`
	Text      string `json:"text"`
}

// An Outlook is one projection.
type Outlook struct {
	Unit          string    `json:"unit"`
	Kind          string    `json:"kind"`
	Of            string    `json:"of"`
	Text          string    `json:"text"`
	Runtime       *Estimate `json:"runtime_s"`
	DrawMA        *Estimate `json:"draw_ma"`
	Transmissions *Estimate `json:"transmissions"`
	Extrapolated  bool      `json:"extrapolated"`
	Refused       string    `json:"refused"` // why nothing is projected, by code; "" where something is
	// Of a route that one charge may not cover: after how long and how far along the way (m) it ends.
	EndsAfter *Estimate `json:"ends_after_s"`
	EndsAlong *Estimate `json:"ends_along_m"`
	// Of a shift: how old the newest position is at most in 95 % of the time, moving and parked; the share of the channel's time
	// that the units fill, and of packets lost to one another if none listened first (0 to 1).
	AgeMoving   *float64 `json:"age_moving_s"`
	AgeParked   *float64 `json:"age_parked_s"`
	ChannelLoad *float64 `json:"channel_load"`
	ChannelLost *float64 `json:"channel_lost"`
}

// A NextTest is what a test would need to show a difference: runs of each unit, the longest interval between beacons that
// still bounds the ends well enough, from when somebody should be there to see an end, and how long to listen, from power-on.
type NextTest struct {
	DifferencePct float64 `json:"difference_pct"`
	PowerPct      float64 `json:"power_pct"`
	SpreadPct     float64 `json:"spread_pct"`
	Runs          int     `json:"runs"`
	RunsEqual     int     `json:"runs_equal"` // that show units which are equal to be so within the margin; 0 where none is stated
	Interval      float64 `json:"interval_s"`
	WatchFrom     float64 `json:"watch_from_s"`
	Listen        float64 `json:"listen_s"`
	Text          string  `json:"text"`
}

// A Question asks one thing, in place: Code says what (power_on, capacity, watched_until ...), File, Unit and Run where the
// answer goes, Why what it brings.
type Question struct {
	ID   string `json:"id"`
	Code string `json:"code"`
	File string `json:"file"`
	Unit string `json:"unit"`
	Run  int    `json:"run"`
	Ask  string `json:"ask"`
	Why  string `json:"why"`
}

// A Caution is a safety note that belongs to what is shown.
type Caution struct {
	Topic string `json:"topic"` // cells | transmitting | channel | silence
	Text  string `json:"text"`
}

// A Transmission is one line of the transmissions export, and what the page fetches to draw a lane.
type Transmission struct {
	Unit  string    `json:"unit"`
	Run   int       `json:"run"`
	N     int       `json:"n"`
	At    Time      `json:"at"`
	Lat   *float64  `json:"lat,omitempty"`
	Lon   *float64  `json:"lon,omitempty"`
	Lines []LineRef `json:"lines"`
}

// A LineRef names a line of a file.
type LineRef struct {
	File string `json:"file"`
	Line int    `json:"line"`
}

// A Lane is what the strip of one run draws: instants in Unix milliseconds.
type Lane struct {
	Unit   string    `json:"unit"`
	Run    int       `json:"run"`
	Sent   []Instant `json:"sent"`   // transmissions heard
	Missed []Instant `json:"missed"` // due and not heard, at the due time
	Due    []Due     `json:"due"`    // the schedule's interval over time, for the expectation line
	Silent []Silence `json:"silent"` // stretches in which the recorder gave no sign of life
	Way    []Spot    `json:"way"`    // where its recorded track ran, thinned; empty for a run that stayed in one place
	Places []Spot    `json:"places"` // where it beaconed, in the same metres
	Paces  []Pace    `json:"paces"`  // of an adaptive schedule: gaps between beacons heard, with the speed half-way
	Curve  []Pace    `json:"curve"`  // of an adaptive schedule: the interval it keeps at a steady speed, by rising speed
}

// A Pace is an interval (seconds) at a speed (m/s); At is its end in Unix milliseconds, 0 on a curve. Single: no beacon was
// missed in it.
type Pace struct {
	At       Instant `json:"at"`
	Speed    float64 `json:"speed_mps"`
	Interval float64 `json:"interval_s"`
	Single   bool    `json:"single"`
}

// A Spot is where a unit was at an instant (Unix milliseconds), in metres east and north of the first spot of its lane. Gap:
// nothing was recorded between the spot before and this one. Corner: the beacon there came before its interval was up, for
// the unit had turned.
type Spot struct {
	At     Instant `json:"at"`
	East   float64 `json:"east_m"`
	North  float64 `json:"north_m"`
	Gap    bool    `json:"gap"`
	Corner bool    `json:"corner"`
}

// Due is the interval (seconds) that the schedule expects from a moment on.
type Due struct {
	At       Instant `json:"at"`
	Interval float64 `json:"interval_s"`
}

// A Silence is a stretch, in Unix milliseconds, in which the recorder gave no sign of life.
type Silence struct {
	Start Instant `json:"start"`
	End   Instant `json:"end"`
}
