package web

// Routes lists what is served, as "METHOD /path".
func (s *Server) Routes() []string {
	var out []string
	for _, r := range s.routes() {
		out = append(out, r.method+" "+r.path)
	}
	return out
}

// NextMorning is nextMorning.
var NextMorning = nextMorning

// Settle waits until what is kept beside the requests is kept.
func (s *Server) Settle() { s.login.savers.Wait() }

// Withhold is withhold, for a guest who may acknowledge or may not.
func (s *Server) Withhold(page string, acknowledge bool) string {
	a := asker{may: mayLook}
	if acknowledge {
		a.may = mayAcknowledge
	}
	return string(withhold([]byte(page), s.permits(a)))
}
