package web

import (
	"embed"
	"net/http"
	"net/url"
)

//go:embed *.html static openapi.json
var files embed.FS

// A route is one method and path. Open ones need no login; local ones need
// none when asked from this machine. Others need what needs says, and those of
// the keeper the password besides.
type route struct {
	method, path string
	handle       http.HandlerFunc
	open, local  bool
	keeper       bool
	writes       bool // a page that is nothing but a form
	harmless     bool // a POST that changes nothing of the room
	acknowledges bool
}

// needs is what an asker must be allowed at least. What nobody thought of is
// the safe thing: whatever is no GET changes something.
func (r route) needs() may {
	switch {
	case r.acknowledges:
		return mayAcknowledge
	case r.harmless, r.method == "GET" && !r.writes:
		return mayLook
	}
	return mayChange
}

// mayHave reports whether an asker who may see the room may have a route.
func (a asker) mayHave(r route) bool {
	return r.open || a.may >= r.needs() && (a.keeper || !r.keeper)
}

// routes is everything that is served. openapi.json says the same to others.
func (s *Server) routes() []route {
	all := []route{
		{method: "GET", path: "/{$}", handle: s.page(s.room)},
		{method: "GET", path: "/clutches", handle: s.page(s.clutches)},
		{method: "GET", path: "/clutches/{id}", handle: s.page(s.clutch)},
		{method: "GET", path: "/clutches/{id}/review", handle: s.page(s.reviewPage)},
		{method: "GET", path: "/clutches/{id}/review.pdf", handle: s.printing(s.reviewPDF)},
		{method: "GET", path: "/clutches/{id}/review.json", handle: s.reviewJSON},
		{method: "GET", path: "/clutches/{id}/review.csv", handle: s.reviewCSV},
		{method: "GET", path: "/eggs/{id}/plan", handle: s.page(s.eggPlanPage)},
		{method: "GET", path: "/eggs/{id}/why", handle: s.page(s.whyPage)},
		{method: "GET", path: "/hindsight", handle: s.page(s.hindsight)},
		{method: "GET", path: "/places/{id}", handle: s.page(s.place)},
		{method: "GET", path: "/females", handle: s.page(s.herd)},
		{method: "GET", path: "/females/{id}", handle: s.page(s.animal)},
		{method: "GET", path: "/animals/{id}", handle: s.page(s.animal)},
		{method: "POST", path: "/animals/{id}/photos", handle: s.page(s.postPhoto)},
		{method: "GET", path: "/photos/{file}", handle: s.photo},
		{method: "GET", path: "/alerts", handle: s.page(s.alertsNow)},
		{method: "GET", path: "/alerts/history", handle: s.page(s.alertHistory)},
		{method: "GET", path: "/alerts/rules", handle: s.page(s.rules)},
		{method: "GET", path: "/alerts/message", handle: s.page(s.messagePage)},
		{method: "POST", path: "/alerts/message", handle: s.page(s.messageForm)},
		{method: "GET", path: "/alerts/rules/{code}", handle: s.page(s.tune)},
		{method: "POST", path: "/alerts/rules", handle: s.page(s.postTune)},
		{method: "POST", path: "/alerts/acknowledge", handle: s.page(s.acknowledgeMany), acknowledges: true},
		{method: "POST", path: "/alerts/{id}/acknowledge", handle: s.page(s.acknowledgeForm), acknowledges: true},
		{method: "POST", path: "/alerts/{id}/shelve", handle: s.page(s.shelveForm)},
		{method: "POST", path: "/alerts/{id}/unshelve", handle: s.page(s.unshelveForm)},
		{method: "GET", path: "/entries", handle: s.page(s.entries)},
		{method: "GET", path: "/entries/new", handle: s.page(s.newEntry), writes: true},
		{method: "POST", path: "/entries", handle: s.page(s.postEntry)},
		{method: "POST", path: "/clock", handle: s.page(s.clockForm)},
		{method: "POST", path: "/units", handle: s.setUnits, harmless: true},
		{method: "GET", path: "/wall", handle: s.page(s.wall)},
		{method: "GET", path: "/settings/tokens", handle: s.page(s.tokens), keeper: true},
		{method: "POST", path: "/settings/tokens", handle: s.page(s.makeToken), keeper: true},
		{method: "POST", path: "/settings/tokens/{id}/revoke", handle: s.page(s.revokeToken), keeper: true},
		{method: "POST", path: "/settings/name", handle: s.setName, keeper: true},
		{method: "POST", path: "/logout/everywhere", handle: s.logoutEverywhere, keeper: true},
		{method: "GET", path: "/labels", handle: s.printing(s.labels)},
		{method: "GET", path: "/labels.pdf", handle: s.printing(s.labelsPDF)},
		{method: "GET", path: "/clutches/{id}/label.pdf", handle: s.printing(s.clutchLabel)},
		{method: "GET", path: "/sheet", handle: s.printing(s.sheetPage), writes: true},
		{method: "POST", path: "/sheet", handle: s.printing(s.postSheet)},
		{method: "GET", path: "/about", handle: s.about, open: true},
		{method: "GET", path: "/events", handle: s.events},

		{method: "GET", path: "/api/room", handle: s.api(s.apiRoom)},
		{method: "GET", path: "/api/contacts", handle: s.api(s.apiContacts)},
		{method: "GET", path: "/api/clutches", handle: s.api(s.apiClutches)},
		{method: "GET", path: "/api/clutches/{id}", handle: s.api(s.apiClutch)},
		{method: "GET", path: "/api/clutches/{id}/history", handle: s.api(s.apiHistory)},
		{method: "GET", path: "/api/animals", handle: s.api(s.apiAnimals)},
		{method: "GET", path: "/api/animals/{id}", handle: s.api(s.apiAnimal)},
		{method: "GET", path: "/api/clutches/{id}/review", handle: s.api(s.apiReview)},
		{method: "GET", path: "/api/eggs/{id}/plans", handle: s.api(s.apiPlans)},
		{method: "POST", path: "/api/eggs/{id}/consider", handle: s.api(s.apiConsider)},
		{method: "GET", path: "/api/eggs/{id}/narrowings", handle: s.api(s.apiNarrowings)},
		{method: "GET", path: "/api/hindsight", handle: s.api(s.apiHindsight)},
		{method: "GET", path: "/api/readings", handle: s.api(s.apiReadings)},
		{method: "GET", path: "/api/alerts", handle: s.api(s.apiAlerts)},
		{method: "GET", path: "/api/alerts/history", handle: s.api(s.apiAlertHistory)},
		{method: "GET", path: "/api/alerts/tally", handle: s.api(s.apiTally)},
		{method: "GET", path: "/api/alerts/preview", handle: s.api(s.apiPreview)},
		{method: "POST", path: "/api/alerts/{id}/acknowledge", handle: s.api(s.apiAcknowledge)},
		{method: "POST", path: "/api/alerts/{id}/shelve", handle: s.api(s.apiShelve)},
		{method: "POST", path: "/api/alerts/{id}/unshelve", handle: s.api(s.apiUnshelve)},
		{method: "POST", path: "/api/message", handle: s.api(s.apiMessage)},
		{method: "GET", path: "/api/entries", handle: s.api(s.apiEntries)},
		{method: "POST", path: "/api/entries", handle: s.api(s.apiPostEntry)},
		{method: "POST", path: "/api/clock", handle: s.api(s.apiClock)},
		{method: "GET", path: "/api/openapi.json", handle: s.openAPI, open: true},

		{method: "GET", path: "/healthz", handle: s.health, local: true},
		{method: "GET", path: "/login", handle: s.loginPage, open: true},
		{method: "POST", path: "/login", handle: s.postLogin, open: true},
		{method: "POST", path: "/logout", handle: s.logout, harmless: true},
		{method: "GET", path: "/watch/{secret}", handle: s.watch, open: true},
		{method: "GET", path: "/static/{name}", handle: s.look.static, open: true},
	}
	all = append(all, s.walkRoutes()...)
	if s.o.Metrics != nil {
		all = append(all, route{
			method: "GET", path: "/metrics",
			handle: s.o.Metrics.ServeHTTP, local: true,
		})
	}
	return all
}

// walkRoutes are the pages that lead a keeper through the day and the year.
func (s *Server) walkRoutes() []route {
	return []route{
		{method: "GET", path: "/today", handle: s.page(s.today)},
		{method: "GET", path: "/season", handle: s.page(s.season)},
		{method: "GET", path: "/api/due", handle: s.api(s.apiDue)},
		{method: "GET", path: "/api/season", handle: s.api(s.apiSeason)},
		{method: "GET", path: "/round", handle: s.page(s.round)},
		{method: "POST", path: "/round", handle: s.page(s.postRound)},
		{method: "GET", path: "/slots/{place}", handle: s.page(s.slot)},
		{method: "POST", path: "/start", handle: s.page(s.postSteps), harmless: true},
		{method: "GET", path: "/settings", handle: s.page(s.settings)},
		{method: "POST", path: "/settings", handle: s.page(s.postSettings), harmless: true},
		{method: "GET", path: "/help", handle: s.page(s.help)},
		{method: "GET", path: "/help/{topic}", handle: s.page(s.help)},
	}
}

// lay lays the ways from addresses to routes.
func (s *Server) lay() {
	s.ways, s.known = http.NewServeMux(), map[string]route{}
	for _, r := range s.routes() {
		s.ways.Handle(r.method+" "+r.path, s.admit(r))
		s.known[r.method+" "+r.path] = r
	}
}

// permits tells what an asker would be let through to; what is no address of
// ours it does not forbid.
func (s *Server) permits(a asker) func(method, address string) bool {
	return func(method, address string) bool {
		u, err := url.Parse(address)
		if err != nil {
			return false
		}
		_, pattern := s.ways.Handler(&http.Request{Method: method, URL: u})
		r, ok := s.known[pattern]
		return !ok && method == http.MethodGet || ok && a.mayHave(r)
	}
}

// Handler is everything, guarded; for Run and for tests.
func (s *Server) Handler() http.Handler { return s.guard(s.ways) }

func (s *Server) openAPI(w http.ResponseWriter, _ *http.Request) {
	text, err := files.ReadFile("openapi.json")
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(text)
}
