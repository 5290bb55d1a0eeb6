package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"mime/multipart"
	"net/http"
	"os"
	"strings"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

const (
	// photoBody is the largest upload: a picture of 12 MB and the form around
	// it.
	photoBody = 12<<20 + 64<<10
	// photoTime is how long an upload may take: 12 MB at 100 kB/s.
	photoTime = 2 * time.Minute
)

// A Photos keeps pictures of animals. Keep gives the name it keeps a picture
// under, durably, and reads no more than it takes; a *monitor.Refusal says why
// it takes none. Open gives a kept picture, a JPEG, or its thumbnail, or
// fs.ErrNotExist; the caller closes it. Both may be called from several
// goroutines.
type Photos interface {
	Keep(ctx context.Context, from io.Reader) (name string, err error)
	Open(name string, small bool) (*os.File, error)
}

// photo serves a kept picture: "NAME.jpg" or "NAME-small.jpg". What is in it
// never changes, but who may see it does: browsers ask each time.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) {
	name, jpg := strings.CutSuffix(r.PathValue("file"), ".jpg")
	name, small := strings.CutSuffix(name, "-small")
	if s.o.Photos == nil || !jpg {
		http.NotFound(w, r)
		return
	}
	f, err := s.o.Photos.Open(name, small)
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			s.o.Log.Error("picture not shown", "photo", name, "error", err)
		}
		http.NotFound(w, r)
		return
	}
	defer func() { _ = f.Close() }()
	h := w.Header()
	h.Set("Content-Type", "image/jpeg")
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", `"`+r.PathValue("file")+`"`)
	http.ServeContent(w, r, "", time.Time{}, f)
}

// postPhoto takes a picture of an animal and writes it into the book.
func (s *Server) postPhoto(v *visit) error {
	id := v.r.PathValue("id")
	a := v.snap.Book.Animals[id]
	if a == nil || s.o.Photos == nil {
		return missing{"animal " + id + " to keep pictures of"}
	}
	c := http.NewResponseController(v.w)
	_ = c.SetReadDeadline(time.Now().Add(photoTime)) // a recorder in a test has none
	_ = c.SetWriteDeadline(time.Now().Add(photoTime + time.Minute))
	request, name, err := s.takePhoto(v.r)
	if refusal, ok := errors.AsType[*monitor.Refusal](err); ok {
		v.trouble(http.StatusUnprocessableEntity, "The picture was not taken", capital(refusal.Text)+".")
		return nil
	}
	if err != nil {
		return err
	}
	text, err := json.Marshal(book.PhotoData{Animal: id, Photo: name})
	if err != nil {
		return err
	}
	done, err := s.do(v.r.Context(), monitor.Change{Entry: &book.Entry{
		Request: request, Zone: v.say.in(v.snap.Time).Location().String(), By: who, Kind: book.KindPhoto, Data: text,
	}})
	if err != nil {
		p, code := s.why(err)
		v.trouble(code, "The picture was not taken", capital(p.Text)+".")
		return nil
	}
	http.Redirect(v.w, v.r, written(pageOf(a), done.Entry.Seq, false), http.StatusSeeOther)
	return nil
}

// takePhoto reads the form part by part: the request's id stands before the
// picture.
func (s *Server) takePhoto(r *http.Request) (request, name string, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return "", "", &monitor.Refusal{Text: "no picture came with the form"}
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return "", "", &monitor.Refusal{Field: "photo", Text: "choose a picture first"}
		}
		if err != nil {
			return "", "", overlong(err)
		}
		switch part.FormName() {
		case "request":
			text, err := io.ReadAll(io.LimitReader(part, 65))
			if err != nil || len(text) > 64 {
				return "", "", &monitor.Refusal{Text: "this form is damaged: open it again"}
			}
			request = string(text)
		case "photo":
			name, err := s.keepPhoto(r.Context(), part)
			return request, name, overlong(err)
		}
	}
}

func (s *Server) keepPhoto(ctx context.Context, part *multipart.Part) (string, error) {
	first := make([]byte, 1)
	if _, err := io.ReadFull(part, first); err != nil {
		return "", &monitor.Refusal{Field: "photo", Text: "choose a picture first"}
	}
	return s.o.Photos.Keep(ctx, io.MultiReader(bytes.NewReader(first), part))
}

// overlong says in the keeper's words that the body's bound was reached.
func overlong(err error) error {
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return &monitor.Refusal{Field: "photo", Text: "the picture is larger than 12 MB: send a smaller one"}
	}
	return err
}
