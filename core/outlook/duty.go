package outlook

import (
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// A Duty is a split of time: transmit, receive and standby, as shares of 1, with the current in each. 5-5-90 is the split
// that the trade quotes for handhelds.
type Duty struct {
	TX, RX, Standby       float64
	TXmA, RXmA, StandbyMA estimate.Estimate
}

// MA gives the mean current of a duty, independent currents taken together.
func (d Duty) MA() estimate.Estimate { return d.law().Estimate() }

func (d Duty) law() estimate.Law {
	return estimate.Sum(weigh(d.TX, d.TXmA), weigh(d.RX, d.RXmA), weigh(d.Standby, d.StandbyMA))
}

// weigh gives a share of a current; a share of nothing needs no current.
func weigh(share float64, ma estimate.Estimate) estimate.Law {
	if share == 0 {
		return estimate.ExactLaw(0)
	}
	return estimate.LawOf(ma).Times(share)
}

// Share projects a duty on a battery. A beacon test gives standby and transmit currents, but not what receiving a voice
// takes: that has to be stated.
func Share(d Duty, b draw.Battery) Projection {
	ma := d.law()
	if !ma.Known() || !(ma.X[0] > 0) {
		return refuse("share", "no_currents")
	}
	p := Projection{Kind: "share", Of: ThisUnit, DrawMA: ma.Estimate()}
	charge, why := draw.CapacityOf(b)
	if why != "" {
		return p
	}
	hours := estimate.Sum(charge.Law.Log(), estimate.NormalLaw(0, charge.Repeat), ma.Log().Times(-1))
	p.Runtime = hours.ExpEstimate().Scale(3600)
	return p
}

// TransmitMA gives the transmit current that a split implies: idle current plus charge per beacon over its time on the air.
func TransmitMA(s draw.Split, airtimeS float64) estimate.Estimate {
	if !s.Resolved || !(airtimeS > 0) {
		return estimate.Unknown
	}
	return estimate.Sum(estimate.LawOf(s.IdleMA), estimate.LawOf(s.MAhPerBeacon).Times(3600/airtimeS)).Estimate()
}
