package evidence

import "time"

// Renumber gives the source another place in the order of files; every line in it follows.
func (s *Source) Renumber(id FileID) {
	if s.File.ID == id {
		return
	}
	s.File.ID = id
	for i := range s.Receptions {
		s.Receptions[i].Line.File = id
	}
	for i := range s.Tracks {
		s.Tracks[i].File = id
		for k := range s.Tracks[i].Fixes {
			s.Tracks[i].Fixes[k].Line.File = id
		}
	}
	for i := range s.Readings {
		s.Readings[i].Line.File = id
	}
	for i := range s.Presence {
		s.Presence[i].File = id
	}
	for i := range s.Notes {
		s.Notes[i].Line.File = id
	}
	for i := range s.File.Ask {
		for k := range s.File.Ask[i].Lines {
			s.File.Ask[i].Lines[k].File = id
		}
	}
}

// Shift moves every time in the source by d; a clock that was ahead is put right by moving it back.
func (s *Source) Shift(d time.Duration) {
	if d == 0 {
		return
	}
	s.File.First, s.File.Last = s.File.First.Add(d), s.File.Last.Add(d)
	for i := range s.Receptions {
		s.Receptions[i].At = s.Receptions[i].At.Add(d)
	}
	for i := range s.Tracks {
		for k := range s.Tracks[i].Fixes {
			s.Tracks[i].Fixes[k].At = s.Tracks[i].Fixes[k].At.Add(d)
		}
	}
	for i := range s.Readings {
		s.Readings[i].At = s.Readings[i].At.Add(d)
	}
	for i := range s.Presence {
		for k := range s.Presence[i].Spans {
			span := &s.Presence[i].Spans[k]
			span.Start, span.End = span.Start.Add(d), span.End.Add(d)
		}
	}
	s.Survey.shift(d)
}

func (s *Survey) shift(d time.Duration) {
	if s == nil {
		return
	}
	for b := range s.cards {
		for i := range s.cards[b] {
			c := &s.cards[b][i]
			c.first, c.last, c.sent = c.first.Add(d), c.last.Add(d), c.sent.Add(d)
		}
	}
}
