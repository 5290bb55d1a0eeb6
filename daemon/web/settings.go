package web

import (
	"net/http"
	"time"
)

// settingLife is how long a browser keeps what its owner chose.
const settingLife = 400 * 24 * 3600

type settingsBody struct {
	Units []option
	Dates []option
	Gates []fact
	Kept  []fact // how the season is kept
	Open  bool   // no password is needed
}

// settings shows what can be chosen: how this browser tells things, and what
// holds for the room.
func (s *Server) settings(v *visit) error {
	b := settingsBody{Open: !s.login.needed, Gates: v.gateFacts(), Kept: v.seasonFacts()}
	b.Units = options(s.units(v.r), "C", "°C", "F", "°F")
	// A day that no style can be read wrongly by: its number is no month.
	example := time.Date(v.snap.Time.Year(), time.March, 14, 12, 0, 0, 0, time.UTC)
	for _, d := range styles() {
		b.Dates = append(b.Dates, option{
			Value: string(d), Text: example.Format(d.form().full), Chosen: d == v.say.dates,
		})
	}
	return v.render("settings", frame{Title: "Settings", Nav: "settings", Body: b}, http.StatusOK)
}

// postSettings keeps what this browser's owner chose, in the browser.
func (s *Server) postSettings(v *visit) error {
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	for _, c := range []struct {
		name, cookie string
		may          []string
	}{
		{"units", unitsCookie, []string{"C", "F"}},
		{"dates", datesCookie, []string{string(inWords), string(inOrder), string(withDots), string(monthLead)}},
	} {
		for _, value := range c.may {
			if v.r.PostForm.Get(c.name) == value {
				http.SetCookie(v.w, preference(c.cookie, value))
			}
		}
	}
	http.Redirect(v.w, v.r, "/settings?kept=1", http.StatusSeeOther)
	return nil
}

func preference(name, value string) *http.Cookie {
	return &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: settingLife, HttpOnly: true,
		SameSite: http.SameSiteLaxMode,
	}
}
