package skew

import "lastbeacon/core/evidence"

// Off tells whether the offset is worth a word: beyond its limits it is more than software and stamps delay.
func (o Offset) Off() bool {
	return o.Seconds.Low > leastSkew.Seconds() || o.Seconds.High < -leastSkew.Seconds()
}

// turned gives the offset as seen from the other file.
func (o Offset) turned() Offset {
	s := o.Seconds
	s.Low, s.Best, s.High = -s.High, -s.Best, -s.Low
	return Offset{File: o.Against, Against: o.File, Seconds: s, Basis: o.Basis}
}

// Judge tells which clocks to put right. Sure are the comparisons with a time that depends on no receiver's clock: packets'
// own or a track's; between are those of two logs. A log that such a time proves right shows up the other; a log that
// differs from one of two logs that agree is the wrong one. Where nothing of that is known either of two may be off, and
// the offset says so. A log beside one that is known to be off waits until that one is put right. Two clocks that differ by
// what a zone may lie from UTC, of which one file states no zone (assumed tells), show the zone of that one.
func Judge(sure, between []Offset, assumed func(evidence.FileID) bool) (wrong []Offset) {
	j := judge{right: map[evidence.FileID]bool{}, named: map[evidence.FileID]bool{}, between: between, assumed: assumed}
	for _, o := range sure {
		switch {
		case j.right[o.File] || j.named[o.File]:
		case o.Off():
			j.name(o)
		default:
			j.right[o.File] = true
		}
	}
	for _, o := range between {
		if assumed(o.Against) {
			o = o.turned()
		}
		if o.Off() && zoneBy(o.Seconds.Best) != "" && assumed(o.File) && !assumed(o.Against) && !j.right[o.File] && !j.named[o.File] {
			j.name(o)
		}
	}
	for _, o := range between {
		switch {
		case !o.Off() || j.right[o.File] && j.right[o.Against] || j.named[o.File] || j.named[o.Against]:
		case j.right[o.Against]:
			j.name(o)
		case j.right[o.File]:
			j.name(o.turned())
		case j.seconded(o.Against, o.File) && !j.seconded(o.File, o.Against):
			j.name(o)
		case j.seconded(o.File, o.Against) && !j.seconded(o.Against, o.File):
			j.name(o.turned())
		}
	}
	for _, o := range between {
		if o.Off() && !j.named[o.File] && !j.named[o.Against] && !(j.right[o.File] && j.right[o.Against]) {
			o.Either = true
			j.name(o)
		}
	}
	return j.wrong
}

type judge struct {
	right, named map[evidence.FileID]bool
	between      []Offset
	wrong        []Offset
	assumed      func(evidence.FileID) bool
}

func (j *judge) name(o Offset) {
	if o.Basis == Track && !j.assumed(o.File) && j.assumed(o.Against) && zoneBy(o.turned().Seconds.Best) != "" {
		o = o.turned()
	}
	if !o.Either && j.assumed(o.File) {
		o.Zone = zoneBy(o.Seconds.Best)
	}
	j.named[o.File] = true
	j.wrong = append(j.wrong, o)
}

// seconded tells whether a third log agrees with one file and differs from the other.
func (j *judge) seconded(one, other evidence.FileID) bool {
	agree, differ := map[evidence.FileID]bool{}, map[evidence.FileID]bool{}
	for _, o := range j.between {
		for _, p := range []Offset{o, o.turned()} {
			if p.File == one && !p.Off() {
				agree[p.Against] = true
			}
			if p.File == other && p.Off() {
				differ[p.Against] = true
			}
		}
	}
	for third := range agree {
		if differ[third] {
			return true
		}
	}
	return false
}
