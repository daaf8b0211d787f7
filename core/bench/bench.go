// Package bench reads, checks and writes the bench file (schema lastbeacon.bench/1): which packets belong to which unit, and
// what people know that no packet tells. It turns the file into the settings that each stage owns.
package bench

// Schema names the shape of the file; a meaning changes only with the number.
const Schema = "lastbeacon.bench/1"

// A Bench is the whole file. Everything but Schema and the units' names is optional.
type Bench struct {
	Schema      string   `json:"schema"`
	Title       string   `json:"title,omitempty"`
	Author      string   `json:"author,omitempty"`
	Remarks     string   `json:"remarks,omitempty"`
	DisplayZone string   `json:"display_zone,omitempty"` // IANA name, "UTC" or "+02:00"
	Files       []File   `json:"files,omitempty"`
	Units       []Unit   `json:"units,omitempty"`
	Compare     *Compare `json:"compare,omitempty"`
	Outlook     *Outlook `json:"outlook,omitempty"`
	Options     *Options `json:"options,omitempty"`
}

// A File holds what is known of one dropped file; it is found by SHA-256, else by name.
type File struct {
	Name         string   `json:"name"`
	SHA256       *string  `json:"sha256,omitempty"`
	Zone         string   `json:"zone,omitempty"`
	DayOrder     string   `json:"day_order,omitempty"` // dmy | mdy | ymd
	HalfDay      string   `json:"half_day,omitempty"`  // am | pm: of the first line, where a 12-hour clock tells neither
	Date         string   `json:"date,omitempty"`      // of the first line, where stamps have none: YYYY-MM-DD
	ClockOffsetS float64  `json:"clock_offset_s,omitempty"`
	Watched      []Watch  `json:"watched,omitempty"`
	Columns      []Column `json:"columns,omitempty"`
	RecordedBy   string   `json:"recorded_by,omitempty"` // receiver | unit | companion
}

// A Watch is a stretch in which the recorder was known to listen; an absent side is that end of the file.
type Watch struct {
	From  *string `json:"from,omitempty"`
	Until *string `json:"until,omitempty"`
}

// A Column says what a column of a table file holds: one of intake.Meanings, such as "time", "lat" or "speed km/h".
type Column struct {
	Header  string `json:"header"` // or its number from 1
	Meaning string `json:"meaning"`
}

// A Unit is one radio under test.
type Unit struct {
	Name        string      `json:"name"`
	Kind        string      `json:"kind,omitempty"`
	Match       []Match     `json:"match,omitempty"`
	Battery     *Battery    `json:"battery,omitempty"`
	TX          *TX         `json:"tx,omitempty"`
	FirstBeacon string      `json:"first_beacon,omitempty"` // at_once | after_fix | after_interval | unknown
	Conditions  *Conditions `json:"conditions,omitempty"`
	Tracks      []string    `json:"tracks,omitempty"`
	Meters      []string    `json:"meters,omitempty"`
	Runs        []Run       `json:"runs,omitempty"`
	Saved       []Saved     `json:"saved,omitempty"`
}

// A Match is a rule: it holds when every given part does.
type Match struct {
	Station     string  `json:"station,omitempty"`
	Comment     string  `json:"comment,omitempty"`
	Destination string  `json:"destination,omitempty"`
	Symbol      string  `json:"symbol,omitempty"`
	Encoding    string  `json:"encoding,omitempty"` // plain | compressed | mic-e
	From        *string `json:"from,omitempty"`
	Until       *string `json:"until,omitempty"`
}

// A Battery is what feeds a unit.
type Battery struct {
	Pack         string   `json:"pack,omitempty"`
	Supply       string   `json:"supply,omitempty"` // pack | usb_bank | primary | external
	CapacityMAh  *float64 `json:"capacity_mah,omitempty"`
	Basis        string   `json:"basis,omitempty"` // measured | recharged | printed | printed_used | unknown
	TolerancePct *float64 `json:"tolerance_pct,omitempty"`
	NominalV     *float64 `json:"nominal_v,omitempty"`
	EnergyWh     *float64 `json:"energy_wh,omitempty"`
}

// TX is how a unit transmits.
type TX struct {
	PowerW     *float64 `json:"power_w,omitempty"`
	PowerBasis string   `json:"power_basis,omitempty"` // measured | printed | setting
	MeterPct   *float64 `json:"meter_pct,omitempty"`
	CurrentMA  *float64 `json:"current_ma,omitempty"`
	Modulation string   `json:"modulation,omitempty"` // afsk1200 | fsk9600 | lora
	LoRa       *LoRa    `json:"lora,omitempty"`
	TXDelayS   *float64 `json:"tx_delay_s,omitempty"`
	TXTailS    *float64 `json:"tx_tail_s,omitempty"`
}

// LoRa holds the settings of a long-range modem.
type LoRa struct {
	SF          int     `json:"sf"`
	BandwidthHz float64 `json:"bandwidth_hz"`
	Coding      string  `json:"coding"` // 4/5 to 4/8
}

// Conditions are the settings of a test that no packet tells.
type Conditions struct {
	Fix            string   `json:"fix,omitempty"`
	SecondReceiver string   `json:"second_receiver,omitempty"`
	Audio          string   `json:"audio,omitempty"`
	PowerSaver     string   `json:"power_saver,omitempty"`
	AutoPowerOff   string   `json:"auto_power_off,omitempty"`
	Repeating      string   `json:"repeating,omitempty"`
	TemperatureC   *float64 `json:"temperature_c,omitempty"`
	Antenna        string   `json:"antenna,omitempty"`
	Firmware       string   `json:"firmware,omitempty"`
}

// A Run is one charge of the unit as noted by a person.
type Run struct {
	Label         string   `json:"label,omitempty"`
	PowerOn       *Moment  `json:"power_on,omitempty"`
	Events        []Event  `json:"events,omitempty"`
	Battery       *Battery `json:"battery,omitempty"` // where it differs from the unit's
	ChargeUsedMAh *float64 `json:"charge_used_mah,omitempty"`
	ChargeBasis   string   `json:"charge_basis,omitempty"` // recharged | meter
	Instrument    string   `json:"instrument,omitempty"`   // which charger or meter: the same name is the same one
	Exclude       []Watch  `json:"exclude,omitempty"`
	Typed         *Typed   `json:"typed,omitempty"`
}

// A Moment is a noted time, plus or minus PrecisionS seconds.
type Moment struct {
	At         string  `json:"at"`
	PrecisionS float64 `json:"precision_s,omitempty"`
}

// An Event is what somebody noted: low_battery, pack_changed, charging, settings_changed, power_cycled, seen_on, seen_dead,
// switched_off.
type Event struct {
	At         string  `json:"at"`
	PrecisionS float64 `json:"precision_s,omitempty"`
	What       string  `json:"what"`
	Text       string  `json:"text,omitempty"`
}

// A Typed run has no log: when it went off, and how often it had transmitted if that was counted.
type Typed struct {
	Off           Moment   `json:"off"`
	Transmissions *float64 `json:"transmissions,omitempty"`
}

// Compare holds what was stated before the test.
type Compare struct {
	MarginPct    *float64 `json:"margin_pct,omitempty"`
	AssumedCVPct *float64 `json:"assumed_cv_pct,omitempty"`
	Stated       string   `json:"stated,omitempty"` // date
}

// Options tune the stages.
type Options struct {
	DuplicateWindowS *float64 `json:"duplicate_window_s,omitempty"`
	DefaultZone      string   `json:"default_zone,omitempty"` // of files that state none and are not listed
}

// Outlook holds what is to be projected: other packs, other intervals, routes, duty shares, a shift.
type Outlook struct {
	Packs      []Battery `json:"packs,omitempty"`
	IntervalsS []float64 `json:"intervals_s,omitempty"`
	Routes     []Route   `json:"routes,omitempty"`
	Duties     []Duty    `json:"duties,omitempty"`
	Shift      *Shift    `json:"shift,omitempty"`
}

// A Route is a track to be replayed against the schedule of a unit's latest run.
type Route struct {
	File string `json:"file"`
	Unit string `json:"unit,omitempty"` // empty: every unit
}

// A Duty is a split of time into transmitting, receiving and standby, in percent, with the currents of each.
type Duty struct {
	TXPct     float64  `json:"tx_pct"`
	RXPct     float64  `json:"rx_pct"`
	TXMA      *float64 `json:"tx_ma,omitempty"`
	RXMA      *float64 `json:"rx_ma,omitempty"`
	StandbyMA *float64 `json:"standby_ma,omitempty"`
}

// A Shift is what units of a kind must last, with a reserve.
type Shift struct {
	Hours      float64 `json:"hours"`
	ReservePct float64 `json:"reserve_pct,omitempty"`
	Units      int     `json:"units,omitempty"`
	SpreadPct  float64 `json:"spread_pct,omitempty"`
	Cold       bool    `json:"cold,omitempty"`
	IntervalS  float64 `json:"interval_s,omitempty"`  // between beacons; 0: as in the latest run
	VoicePerH  float64 `json:"voice_per_h,omitempty"` // overs an hour
	VoiceS     float64 `json:"voice_s,omitempty"`     // of this length
	Repeats    int     `json:"repeats,omitempty"`     // how often others repeat each beacon
}

// A Saved run is a finished run of an earlier report: the figures that it claimed, without the packets behind them. From says
// which report; the unit that holds it is the one it counts for. Times are seconds, rates per hour.
type Saved struct {
	From        Origin      `json:"from"`
	Label       string      `json:"label,omitempty"`
	Start       *string     `json:"start,omitempty"`
	End         *string     `json:"end,omitempty"`
	EndEarliest *string     `json:"end_earliest,omitempty"`
	EndLatest   *string     `json:"end_latest,omitempty"`
	State       string      `json:"state"`
	Rankable    bool        `json:"rankable,omitempty"`
	OneCharge   bool        `json:"one_charge,omitempty"` // nothing spoke against its being one full charge
	RuntimeS    Bounds      `json:"runtime_s"`
	OverS       *float64    `json:"over_s,omitempty"` // of a run stopped on purpose: while a noted charge flowed
	Transmitted int         `json:"transmissions,omitempty"`
	Sent        *Bounds     `json:"sent,omitempty"`
	RatePerH    *Bounds     `json:"rate_per_h,omitempty"`
	AirtimeS    *Bounds     `json:"airtime_s,omitempty"`
	Missed      *Bounds     `json:"missed,omitempty"`
	ShareHeard  *Bounds     `json:"share_heard,omitempty"` // 0 to 1
	LastHeard   *string     `json:"last_heard,omitempty"`
	Relayed     int         `json:"relayed,omitempty"`
	RelaysKnown bool        `json:"relays_known,omitempty"` // so that none relayed means none
	Path        *string     `json:"path,omitempty"`         // that most packets asked for; "" for none
	BusyPct     *float64    `json:"busy_pct,omitempty"`     // share of the time that others' packets filled the channel
	Schedule    string      `json:"schedule,omitempty"`
	FixPct      *float64    `json:"fix_pct,omitempty"`
	MovingPct   *float64    `json:"moving_pct,omitempty"`
	Battery     *Battery    `json:"battery,omitempty"`
	ChargeMAh   *float64    `json:"charge_used_mah,omitempty"` // measured for this very run
	ChargeBasis string      `json:"charge_basis,omitempty"`    // recharged | meter
	Instrument  string      `json:"instrument,omitempty"`
	TX          *TX         `json:"tx,omitempty"`
	Conditions  *Conditions `json:"conditions,omitempty"`
}

// An Origin names a run of a saved report: the file, its SHA-256, the version that wrote it, the unit and run in it (from 1).
type Origin struct {
	File    string `json:"file"`
	SHA256  string `json:"sha256"`
	Version string `json:"version"`
	Unit    string `json:"unit"`
	Run     int    `json:"run"`
}

// Bounds are the 2.5 %, 50 % and 97.5 % points of a figure; an absent one is open.
type Bounds struct {
	Low  *float64 `json:"low"`
	Best *float64 `json:"best"`
	High *float64 `json:"high"`
}
