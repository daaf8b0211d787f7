package evidence

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
