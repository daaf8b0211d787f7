package sim

// A Battery is one charge and what the radio takes from it. Charge is in mAh, current in mA.
type Battery struct {
	Printed float64 // the label
	True    float64 // what the pack delivers, at rest, until the radio switches itself off
	Idle    float64 // current between beacons
	Asleep  float64 // current while the radio sleeps
	Beacon  float64 // charge of one beacon beyond the idle current
	Sag     float64 // charge left below which the cells sag under the cut-off as soon as the radio transmits
	Death   Death
}

// A Death is what a weak pack does to the radio.
type Death uint8

const (
	AtRandom     Death = iota // it stops when the charge is used up, whatever it is doing
	AtKeyUp                   // below Sag it stops at key-up and that beacon is not sent
	AfterSending              // below Sag it sends once more and stops as the transmitter unkeys
)

func (d Death) String() string { return [...]string{"at random", "at key-up", "after sending"}[d] }

// A drain is a battery in use: how much is gone at which moment.
type drain struct {
	Battery
	naps []span  // stretches in which the radio sleeps
	at   float64 // seconds after the scenario's begin
	used float64
}

const secondsPerHour = 3600

// rest gives the charge that rest takes from d.at to t.
func (d *drain) rest(t float64) float64 {
	whole, asleep := span{d.at, t}, 0.0
	for _, nap := range d.naps {
		asleep += nap.overlap(whole)
	}
	return (d.Idle*(t-d.at-asleep) + d.Asleep*asleep) / secondsPerHour
}

// empty gives the moment at which rest alone uses up the charge, if that is before t.
func (d *drain) empty(t float64) (float64, bool) {
	if d.used+d.rest(t) < d.True {
		return 0, false
	}
	low, high := d.at, t
	for range 60 { // halving: naps make the draw piecewise straight
		if mid := (low + high) / 2; d.used+d.rest(mid) < d.True {
			low = mid
		} else {
			high = mid
		}
	}
	return high, true
}

// advance spends the rest up to t.
func (d *drain) advance(t float64) {
	d.used += d.rest(t)
	d.at = t
}

// A keying is what happens when the radio wants to transmit.
type keying uint8

const (
	sends       keying = iota
	sendsAndOff        // the last one
	isOff              // nothing goes out
)

// key spends one beacon.
func (d *drain) key() keying {
	left := d.True - d.used
	if left < d.Beacon || d.Death == AtKeyUp && left < d.Sag {
		return isOff
	}
	d.used += d.Beacon
	if d.Death == AfterSending && left < d.Sag {
		return sendsAndOff
	}
	return sends
}
