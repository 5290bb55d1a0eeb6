package days_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"clutchd/daemon/browser"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// withAFemale lives an evening with one female in the hand: looked at, weighed,
// paired; a mistake put right. Each from her own page, in as few touches as it
// takes.
func withAFemale(t *testing.T, b *browser.Browser) {
	s := stable()
	tell := s.tell
	s.tell = func(write teller) {
		tell(write)
		write(20*day, book.KindChecked, book.CheckedData{Animal: "sorrel", Stage: incubation.Follicular, Size: incubation.Small, Sides: incubation.BothSide})
		write(20*day, book.KindWeighed, book.WeighedData{Animal: "sorrel", Grams: 58})
		write(60*day, book.KindWeighed, book.WeighedData{Animal: "basil", Grams: 80})
	}
	h := begin(t, s)
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/females")
	p.Follow(`a[href="/females/sorrel"]`)

	taps := func(what string, atMost int, do func()) {
		t.Helper()
		p.Taps = 0
		if do(); p.Taps > atMost {
			t.Errorf("%s took %d taps, at most %d are fine", what, p.Taps, atMost)
		}
	}
	taps("the check", 3, func() {
		p.Follow(`.reach a[href*="kind=checked"]`)
		p.Tap(`label:has(input[value="` + string(incubation.Follicular) + "/" + incubation.Large + `"])`)
		send(t, p)
	})
	if c := data[book.CheckedData](t, one(t, "checks", h.entries(book.KindChecked))); c.Animal != "sorrel" || c.Stage != incubation.Follicular || c.Size != incubation.Large {
		t.Errorf("seen was %+v", c)
	}
	taps("the same again", 1, func() { p.Follow("form.repeat button") })
	checks := h.entries(book.KindChecked)
	if len(checks) != 2 || data[book.CheckedData](t, checks[1]).Size != incubation.Large {
		t.Errorf("the same as last time is %+v", checks)
	}
	taps("the weight", 4, func() {
		p.Follow(`.reach a[href*="kind=weighed"]`)
		p.Type("#f-grams", "61,5")
		send(t, p)
	})
	if w := data[book.WeighedData](t, one(t, "weights", h.entries(book.KindWeighed))); w.Animal != "sorrel" || w.Grams != 61.5 {
		t.Errorf("weighed was %+v", w)
	}
	p.Follow(`.reach a[href*="kind=paired"]`)
	p.Tap(`label:has(input[name=male][value=basil])`)
	p.Tap(`label:has(input[value=refused])`)
	send(t, p)
	paired := one(t, "pairings", h.entries(book.KindPaired))
	if d := data[book.PairedData](t, paired); d.Female != "sorrel" || d.Male != "basil" || d.Outcome != incubation.Refused {
		t.Errorf("paired was %+v", d)
	}

	// She was willing after all: corrected, and both stand in the book.
	p.Open(h.url + "/females/sorrel")
	p.Follow(`#entries li:first-child a[href*="replaces="]`)
	p.Tap(`label:has(input[value=accepted])`)
	send(t, p)
	both := h.entries(book.KindPaired)
	if len(both) != 2 || both[1].Replaces != paired.Seq || data[book.PairedData](t, both[1]).Outcome != incubation.Accepted {
		t.Errorf("corrected, the book holds %+v", both)
	}
	p.Open(h.url + "/females/sorrel")
	if said := p.Text("main"); !strings.Contains(said, "accepted") || !strings.Contains(said, "61.5") {
		t.Errorf("her page says %s", said)
	}
}

// pictured adds a picture that says where it was taken, and finds that what is
// kept does not.
func pictured(t *testing.T, b *browser.Browser) {
	h := begin(t, stable())
	file := filepath.Join(t.TempDir(), "basil.jpg")
	if err := os.WriteFile(file, photograph(t), 0o600); err != nil {
		t.Fatal(err)
	}
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/animals/basil")
	p.Upload("input[type=file]", file)
	p.Follow("form.shoot button")
	one(t, "pictures", h.entries(book.KindPhoto))
	var kept string
	p.Ask(`document.querySelector(".album a").href`, &kept)
	var small struct{ Wide, High int }
	p.Ask(`new Promise(r => { const i = document.querySelector(".album img"); i.loading = "eager";
		const done = () => r({wide: i.naturalWidth, high: i.naturalHeight}); i.complete ? done() : i.onload = done; })`, &small)
	if small.Wide == 0 || small.High == 0 {
		t.Errorf("the picture is shown %d by %d", small.Wide, small.High)
	}
	var whole []int
	p.Ask(`fetch(`+"`"+kept+"`"+`).then(r => r.arrayBuffer()).then(b => [...new Uint8Array(b)])`, &whole)
	text := make([]byte, len(whole))
	for i, n := range whole {
		text[i] = byte(n)
	}
	if len(text) < 500 || bytes.Contains(text, []byte("Exif")) || bytes.Contains(text, []byte("garden shed")) {
		t.Errorf("of %d bytes that are kept some say where it was taken", len(text))
	}
}

// photograph is a JPEG with an Exif part that tells of a place.
func photograph(t *testing.T) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 640, 480))
	for i := range 640 * 480 {
		img.Set(i%640, i/640, color.RGBA{uint8(i), uint8(i / 640), 90, 255})
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, nil); err != nil {
		t.Fatal(err)
	}
	exif := append([]byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x00\x00"), "taken in the garden shed"...)
	part := append([]byte{0xff, 0xe1, 0, byte(len(exif) + 2)}, exif...)
	return append(append([]byte{0xff, 0xd8}, part...), out.Bytes()[2:]...)
}
