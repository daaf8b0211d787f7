// Package draw works out what a run took from its battery: mean current, power, energy and charge per transmission, each
// from a visible budget, and the split into idle current and charge per beacon. Capacity is charge from full to the
// radio's own cut-off. What rests on a printed capacity is inferred, and says so.
//
// Laws used: I = C/T; I = idle + charge per beacon x rate; uncertainties after JCGM 100:2008. Tolerances that nobody
// stated are common practice and marked as assumed.
package draw

import (
	"fmt"
	"math"

	"lastbeacon/core/estimate"
)

// A Basis says how a capacity or a charge is known.
type Basis string

const (
	Measured    Basis = "measured"     // discharged through an instrument
	Recharged   Basis = "recharged"    // the charge a charger put back
	Printed     Basis = "printed"      // on the label of a new pack
	PrintedUsed Basis = "printed_used" // on the label of a pack that has been in use
	Metered     Basis = "meter"        // a meter in the lead, logged over the run
	Unstated    Basis = "unknown"
)

// A Supply is what feeds a unit.
type Supply string

const (
	Pack     Supply = "pack"     // a pack of rechargeable cells; the default
	Bank     Supply = "usb_bank" // cells behind a converter that may switch itself off at low load
	Primary  Supply = "primary"  // cells that are not recharged
	External Supply = "external" // a supply without an end
)

// A Battery is what feeds a unit over one run. Zero fields are not stated.
type Battery struct {
	Pack         string // which pack, by its label: the same name is the same pack
	Supply       Supply
	CapacityMAh  float64
	Basis        Basis
	TolerancePct float64 // the capacity lies anywhere within this of what is stated
	NominalV     float64
	EnergyWh     float64
}

// A Transmit is how a unit transmits. Zero fields are not stated.
type Transmit struct {
	PowerW     float64
	PowerBasis string  // measured, printed, setting
	MeterPct   float64 // the wattmeter's tolerance
	CurrentMA  float64 // taken from the battery while transmitting, all included
}

// Limits of what is accepted; beyond them a typing error is likelier than a battery.
const (
	mostMAh = 1e6
	mostWh  = 1e4
	mostV   = 100
	mostPct = 50
)

// Check tells what of b cannot be.
func (b Battery) Check() error {
	for _, f := range []struct {
		name string
		v    float64
		most float64
	}{
		{"capacity_mah", b.CapacityMAh, mostMAh}, {"energy_wh", b.EnergyWh, mostWh},
		{"nominal_v", b.NominalV, mostV}, {"tolerance_pct", b.TolerancePct, mostPct},
	} {
		if !(f.v >= 0 && f.v <= f.most) {
			return fmt.Errorf("%s is %g; it must lie between 0 and %g", f.name, f.v, f.most)
		}
	}
	return nil
}

// Tolerances in percent, half-width of a rectangular law, where none is stated (common practice, no source).
const (
	measuredPct    = 2.5
	printedPct     = 5
	printedUsedPct = 10
	meterPct       = 2
	voltagePct     = 3 // of the nominal voltage as the mean over a discharge
)

// Repeatability is the relative standard uncertainty of one charge of a pack to the next (common practice, no source).
const Repeatability = 0.01

// SpecimenSpread is the relative standard deviation assumed between specimens of one kind (common practice, no source).
const SpecimenSpread = 0.10

// The output of a USB bank: share of its cells' energy, and its voltage where none is stated (common practice).
const (
	bankLow, bankHigh = 0.85, 0.92
	bankVolts         = 5
)

// tolerance gives the half-width of the capacity in percent, and whether it was assumed.
func (b Battery) tolerance() (pct float64, assumed bool) {
	if b.TolerancePct > 0 {
		return b.TolerancePct, false
	}
	switch b.Basis {
	case Measured, Recharged:
		return measuredPct, true
	case Printed:
		return printedPct, true
	}
	return printedUsedPct, true
}

// Volts gives the voltage at which the unit is fed, 0 when not stated.
func (b Battery) Volts() float64 {
	if b.NominalV == 0 && b.Supply == Bank {
		return bankVolts
	}
	return b.NominalV
}

// capacity gives the charge that the battery holds for the unit, as a law, and why it cannot be given.
func (b Battery) capacity() (law estimate.Law, parts []estimate.Part, refused string) {
	mah := b.CapacityMAh
	switch {
	case b.Supply == External:
		return law, nil, "external"
	case b.Supply == Primary:
		return law, nil, "primary"
	case b.Supply == Bank:
		return b.bank()
	case mah == 0 && b.EnergyWh > 0 && b.NominalV > 0:
		mah = b.EnergyWh / b.NominalV * 1000
	}
	if mah == 0 {
		return law, nil, "no_capacity"
	}
	pct, assumed := b.tolerance()
	return estimate.Rectangular(mah, mah*pct/100), []estimate.Part{capacityPart(pct, assumed)}, ""
}

// bank gives the charge that a USB bank delivers at its output: the energy of its cells less what the converter takes.
func (b Battery) bank() (law estimate.Law, parts []estimate.Part, refused string) {
	const cellVolts = 3.7
	wh := b.EnergyWh
	if wh == 0 {
		wh = b.CapacityMAh * cellVolts / 1000
	}
	if wh == 0 {
		return law, nil, "no_capacity"
	}
	pct, assumed := b.tolerance()
	share := estimate.Rectangular((bankLow+bankHigh)/2, (bankHigh-bankLow)/2)
	law = estimate.Sum(share.Log(), estimate.Rectangular(1, pct/100).Log()).Exp().Times(wh * 1000 / b.Volts())
	efficiency := estimate.Rect((bankHigh-bankLow)/2) / ((bankLow + bankHigh) / 2)
	return law, []estimate.Part{capacityPart(pct, assumed), {Source: "converter", Type: 'B', Relative: efficiency, Assumed: true}}, ""
}

func capacityPart(pct float64, assumed bool) estimate.Part {
	return estimate.Part{Source: "capacity", Type: 'B', Relative: estimate.Rect(pct / 100), Assumed: assumed}
}

// mostPeukert is the largest k-1 in Peukert's rule, charge ~ current^(1-k) (W. Peukert, 1897), that lithium cells show at the
// small currents of a handheld (common practice; 0 to 0.05).
const mostPeukert = 0.05

// LoadEffect gives the law of the logarithm of the charge that cells give at one current over that at another, where their
// currents are so many times apart. It corrects nothing and claims no extra charge at a low current; it only widens.
func LoadEffect(times float64) estimate.Law {
	if !(times > 0) {
		return estimate.ExactLaw(0)
	}
	return estimate.Rectangular(0, mostPeukert*math.Abs(math.Log(times)))
}

// VoltageEffect gives the law of the logarithm of a pack's mean voltage over its nominal one.
func VoltageEffect() estimate.Law { return estimate.Rectangular(1, voltagePct/100.0).Log() }

// Decibels gives the ratio of two powers in dB, a over b.
func Decibels(a, b float64) float64 { return 10 * math.Log10(a/b) }
