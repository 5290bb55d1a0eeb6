package book_test

import (
	"testing"

	"clutchd/incubation/book"
)

func TestTheSeasonsSettings(t *testing.T) {
	early, bad := book.ClockTime(7*60+30), book.ClockTime(24*60)
	s := folded(t, number(
		at(1, book.KindSeason, book.SeasonData{Southern: true, Daily: &early}),
		at(2, book.KindSeason, book.SeasonData{Daily: &early}),
	))
	if s.Season.Southern || s.Season.Daily == nil || *s.Season.Daily != early {
		t.Errorf("the later entry replaces the earlier as a whole: %+v", s.Season)
	}
	e := at(3, book.KindSeason, book.SeasonData{Daily: &bad})
	if err := book.Check(s, e); err == nil {
		t.Error("24:00 was taken for a time of day")
	}
}
