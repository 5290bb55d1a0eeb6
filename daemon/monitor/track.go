package monitor

import "clutchd/incubation"

// Track gives an egg's whole record as it is now, under the ensemble that it
// is estimated by; nil while it is being read, or where there is none. The
// caller may read it for as long as they like.
func (m *Monitor) Track(egg string) *incubation.Track {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, tracks := range []map[string]*incubation.Track{m.eggs.tracks, m.eggs.past} {
		if t := tracks[egg]; t != nil {
			return t.Freeze()
		}
	}
	return nil
}
