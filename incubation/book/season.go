package book

import "time"

// SeasonData is how the keeper wants the season's book kept. It replaces what
// was set before.
type SeasonData struct {
	// Southern: the room lies south of the equator, or lives by that year.
	Southern bool `json:"southern,omitempty"`
	// Daily is when one message tells what is due today, by the room's clock;
	// nil: none does.
	Daily *ClockTime `json:"daily,omitempty"`
}

func (d SeasonData) shape(time.Time) *Problem {
	if d.Daily != nil {
		return checkRange("daily", float64(*d.Daily), 0, 24*60-1)
	}
	return nil
}

func (d SeasonData) sense(*State, time.Time) *Problem { return nil }

func (d SeasonData) write(s *State, _ time.Time, _ uint64) { s.Season = d }
