package web_test

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/jpeg"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
)

// shelf keeps whatever it is given under one name.
type shelf struct {
	folder string
	err    error
	got    []byte
}

const kept32 = "0123456789abcdef0123456789abcdef"

func (s *shelf) Keep(_ context.Context, from io.Reader) (string, error) {
	if s.err != nil {
		return "", s.err
	}
	var err error
	if s.got, err = io.ReadAll(from); err != nil {
		return "", err
	}
	return kept32, os.WriteFile(filepath.Join(s.folder, kept32), s.got, 0o600)
}

func (s *shelf) Open(name string, _ bool) (*os.File, error) {
	return os.Open(filepath.Join(s.folder, filepath.Base(name)))
}

// upload sends a form with a picture as a browser does.
func (s *site) upload(t *testing.T, animal, request string, picture []byte, header ...string) *httptest.ResponseRecorder {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	if err := w.WriteField("request", request); err != nil {
		t.Fatal(err)
	}
	if picture != nil {
		part, err := w.CreateFormFile("photo", "IMG 1.jpg")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(picture); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return s.ask("POST", "/animals/"+animal+"/photos", body.String(), append(header, "Content-Type", w.FormDataContentType())...)
}

func picture(t *testing.T) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestPictureIsKeptOnceAndShown(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		album := &shelf{folder: t.TempDir()}
		s := openHerd(t, func(o *web.Options) { o.Photos = album })
		if page := s.ask("GET", "/females/f-pepper", "").Body.String(); !strings.Contains(page, `type="file" name="photo" accept="image/*"`) {
			t.Error("the page takes no picture")
		}
		one, two := s.upload(t, "f-pepper", "page-1", picture(t)), s.upload(t, "f-pepper", "page-1", picture(t))
		if one.Code != http.StatusSeeOther || two.Code != http.StatusSeeOther || len(s.door.made) != 1 ||
			one.Header().Get("Location") != two.Header().Get("Location") {
			t.Fatalf("answers %d and %d, %d changes\n%s", one.Code, two.Code, len(s.door.made), one.Body)
		}
		if !bytes.Equal(album.got, picture(t)) {
			t.Error("the picture did not arrive as it was sent")
		}
		page := s.ask("GET", one.Header().Get("Location"), "").Body.String()
		if strings.Count(page, "/photos/"+kept32+"-small.jpg") != 2 || !strings.Contains(page, "Written down: A picture of Pepper") {
			t.Error("the page does not show the picture at its head and among the others")
		}
		w := s.ask("GET", "/photos/"+kept32+".jpg", "")
		if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "image/jpeg" || !bytes.Equal(w.Body.Bytes(), picture(t)) {
			t.Fatalf("the picture answers %d, %v", w.Code, w.Header())
		}
		if w := s.ask("GET", "/photos/"+kept32+".jpg", "", "If-None-Match", w.Header().Get("ETag")); w.Code != http.StatusNotModified {
			t.Errorf("asked for again with its tag it answers %d", w.Code)
		}
		if w := s.ask("GET", "/photos/"+kept32+"-small.jpg", "", "If-None-Match", w.Header().Get("ETag")); w.Code != http.StatusOK {
			t.Errorf("the thumbnail has the tag of the whole: %d", w.Code)
		}
		for _, path := range []string{"/photos/none.jpg", "/photos/" + kept32, "/photos/..%2f..%2fpassword.jpg"} {
			if w := s.ask("GET", path, ""); w.Code != http.StatusNotFound {
				t.Errorf("%s answers %d", path, w.Code)
			}
		}
	})
}

func TestPictureThatIsNotTaken(t *testing.T) {
	for _, c := range []struct {
		sentence string
		animal   string
		picture  []byte
		err      error
		code     int
		says     string
	}{
		{"no picture", "f-pepper", nil, nil, 422, "Choose a picture first."},
		{"an empty one, as a browser sends when none was chosen", "f-pepper", []byte{}, nil, 422, "Choose a picture first."},
		{"one that the album refuses", "f-pepper", []byte("x"), &monitor.Refusal{Text: "this is no JPEG"}, 422, "This is no JPEG."},
		{"one that is too long", "f-pepper", make([]byte, 13<<20), nil, 422, "larger than 12 MB"},
		{"nobody's", "f-none", []byte("x"), nil, 404, "There is no"},
		{"a full disk", "f-pepper", []byte("x"), errors.New("no space left"), 500, "This page could not be made"},
	} {
		atNoon(t, func(t *testing.T) {
			s := openHerd(t, func(o *web.Options) { o.Photos = &shelf{folder: t.TempDir(), err: c.err} })
			w := s.upload(t, c.animal, "page-1", c.picture)
			if w.Code != c.code || !strings.Contains(w.Body.String(), c.says) || len(s.door.made) > 0 {
				t.Errorf("%s: answer %d, %d changes, want %d with %q\n%s", c.sentence, w.Code, len(s.door.made), c.code, c.says, w.Body)
			}
		})
	}
}

func TestPicturesAreForThoseLoggedIn(t *testing.T) {
	hash, err := web.HashPassword("a long enough one")
	if err != nil {
		t.Fatal(err)
	}
	album := &shelf{folder: t.TempDir()}
	s := openHerd(t, func(o *web.Options) { o.Photos, o.PasswordHash = album, hash })
	if w := s.upload(t, "f-pepper", "page-1", picture(t)); w.Code != http.StatusUnauthorized || album.got != nil {
		t.Errorf("an upload of a stranger answers %d", w.Code)
	}
	if w := s.ask("GET", "/photos/"+kept32+".jpg", ""); w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), "/login") {
		t.Errorf("a stranger who asks for a picture is answered %d", w.Code)
	}
}

func TestWithoutAnAlbumNoPictureIsAskedFor(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		page := openHerd(t).ask("GET", "/females/f-pepper", "").Body.String()
		if regexp.MustCompile(`type="file"`).MatchString(page) {
			t.Error("a picture is asked for that nobody keeps")
		}
	})
}
