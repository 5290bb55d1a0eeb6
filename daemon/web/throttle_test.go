package web_test

import (
	"fmt"
	"net/http"
	"testing"
	"testing/synctest"
	"time"
)

func TestManyAddressesGuessNoFasterThanOne(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, locked)
		const phone = "192.168.1.30:4000"
		if code, _, _ := login(s, secretWord, "/", "From-Address", phone); code != http.StatusSeeOther {
			t.Fatalf("the login answers %d", code)
		}
		tried, asked := 0, 0
		for start := time.Now(); time.Since(start) < time.Hour; time.Sleep(7 * time.Second) {
			asked++
			at := fmt.Sprintf("10.%d.%d.%d:1", asked>>16, asked>>8&255, asked&255)
			if code, _, _ := login(s, "guess", "/", "From-Address", at); code == http.StatusForbidden {
				tried++
			}
		}
		if tried < 200 || tried > 30+180+1 {
			t.Errorf("of %d guesses in an hour from as many addresses %d were tried", asked, tried)
		}
		login(s, "guess", "/", "From-Address", "10.99.0.1:1")
		if code, _, _ := login(s, secretWord, "/", "From-Address", "172.16.0.9:1"); code != http.StatusTooManyRequests {
			t.Errorf("a stranger amid the storm is answered %d", code)
		}
		if code, _, _ := login(s, secretWord, "/", "From-Address", phone); code != http.StatusSeeOther {
			t.Errorf("the keeper's phone is locked out by strangers: %d", code)
		}
		w := s.ask("GET", "/api/room", "", "From-Address", "172.16.0.9:1", "Authorization", basic(secretWord))
		if w.Code != http.StatusUnauthorized {
			t.Error("the wait is passed by with HTTP Basic")
		}
		time.Sleep(time.Hour)
		if code, _, _ := login(s, secretWord, "/", "From-Address", "172.16.0.9:1"); code != http.StatusSeeOther {
			t.Errorf("an hour later a stranger with the password is answered %d", code)
		}
	})
}

// A phone that knew the password once may still not guess for ever.
func TestFriendsMustWaitToo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, locked)
		login(s, secretWord, "/", "From-Address", from)
		for range 5 {
			login(s, "guess", "/", "From-Address", from)
		}
		if code, _, _ := login(s, "guess", "/", "From-Address", from); code != http.StatusTooManyRequests {
			t.Errorf("the sixth guess is answered %d", code)
		}
	})
}
