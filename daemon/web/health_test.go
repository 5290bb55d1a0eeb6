package web_test

import (
	"encoding/json"
	"net/http"
	"testing"
	"time"
)

func TestHealthIsTheAgeOfTheLastTick(t *testing.T) {
	for _, c := range []struct {
		sentence string
		age      time.Duration
		tick     uint64
		code     int
	}{
		{"a tick just now is well", 0, 7, http.StatusOK},
		{"so is one a minute ago", time.Minute, 7, http.StatusOK},
		{"a second later it is not", 61 * time.Second, 7, http.StatusServiceUnavailable},
		{"before the first tick it is not", 0, 0, http.StatusServiceUnavailable},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				s.snap.Tick = c.tick
				time.Sleep(c.age)
				w := s.ask("GET", "/healthz", "")
				var got struct {
					OK  bool
					Age float64 `json:"age_seconds"`
				}
				if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
					t.Fatal(err)
				}
				if w.Code != c.code || got.OK != (c.code == http.StatusOK) || got.Age != c.age.Seconds() {
					t.Errorf("got %d %+v, want %d and an age of %v", w.Code, got, c.code, c.age)
				}
			})
		})
	}
}
