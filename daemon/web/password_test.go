package web

import (
	"strings"
	"testing"
)

func TestHashPasswordMatchesOnlyItsPassword(t *testing.T) {
	hash, err := HashPassword("correct egg box")
	if err != nil {
		t.Fatal(err)
	}
	k, err := parseSecret(hash)
	if err != nil {
		t.Fatal(err)
	}
	if !k.matches("correct egg box") {
		t.Error("the password is not recognised")
	}
	for _, wrong := range []string{"", "correct egg bo", "Correct egg box", hash} {
		if k.matches(wrong) {
			t.Errorf("%q is taken for the password", wrong)
		}
	}
	if (secret{}).matches("") {
		t.Error("no password at all opens the door")
	}
	if again, _ := HashPassword("correct egg box"); again == hash {
		t.Error("two hashes of one password are the same: no salt")
	}
}

func TestHashPasswordRefusesWhatIsNoPassword(t *testing.T) {
	for _, p := range []string{"", "seven77", strings.Repeat("x", 1025)} {
		if hash, err := HashPassword(p); err == nil || hash != "" {
			t.Errorf("%d characters were taken", len(p))
		}
	}
}

// The reference implementation's command line tool gives this for the
// password "password" and the salt "somesalt" with -t 2 -m 16 -p 1 -id
// (phc-winner-argon2, test.c: argon2id, version 0x13, 2 passes, 65536 KiB).
func TestSecretAgreesWithTheReference(t *testing.T) {
	k, err := parseSecret("$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc")
	if err != nil {
		t.Fatal(err)
	}
	if !k.matches("password") || k.matches("differentpassword") {
		t.Error("the reference hash is not recognised")
	}
}

func TestParseSecretRefusesCostsThatStarve(t *testing.T) {
	good := "$argon2id$v=19$m=32768,t=3,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	if _, err := parseSecret(good); err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]string{
		{"m=32768", "m=4294967295"},
		{"m=32768", "m=8"},
		{"t=3", "t=4000"},
		{"t=3", "t=0"},
		{"p=1", "p=0"},
		{"p=1", "p=255"},
		{"argon2id", "argon2i"},
		{"v=19", "v=16"},
		{"m=32768,t=3", "t=3,m=32768"},
		{"c29tZXNhbHQ", "c29"},
		{"RPPc", "RPP"},
		{"$argon2id", "argon2id"},
	} {
		if k, err := parseSecret(strings.Replace(good, c[0], c[1], 1)); err == nil || k.sum != nil {
			t.Errorf("%s for %s was taken", c[1], c[0])
		}
	}
}

func FuzzSecret(f *testing.F) {
	f.Add("$argon2id$v=19$m=32768,t=3,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc")
	f.Add("$argon2id$v=19$m=,t=,p=$$")
	f.Fuzz(func(t *testing.T, text string) {
		k, err := parseSecret(text)
		if err != nil {
			if k.sum != nil || k.salt != nil || k.memory != 0 {
				t.Fatalf("refused, but not zero: %+v", k)
			}
			return
		}
		if k.String() != text {
			t.Fatalf("%q is written back as %q", text, k)
		}
	})
}
