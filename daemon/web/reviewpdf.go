package web

import (
	"io"
	"net/url"
)

// reviewPDF prints a clutch's review. A code that leads to this machine alone
// would be of no use to whoever holds the paper: there is none then.
func (s *Server) reviewPDF(v *visit) error {
	id := v.r.PathValue("id")
	if clutchOf(v.snap, id) == nil {
		return missing{"clutch " + id}
	}
	r, err := s.wholeReview(v, 0)
	if err != nil {
		return err
	}
	out := v.say.handout(r, v.paperLook(), v.paper())
	if base, ok := readAddress(or(v.asked("address"), v.address())); ok && !alone(base) {
		out.URL = base + "/clutches/" + url.PathEscape(id)
	}
	return v.send("review-"+id, func(w io.Writer) error { return s.o.Press.Review(w, out) })
}
