package web

import (
	"encoding/json"
	"net/http"

	"stopledger/web/app"
)

// routes lists every address of the server.
func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("POST /api/enter", s.postEnter)
	mux.HandleFunc("POST /api/leave", s.postLeave)
	mux.HandleFunc("GET /api/me", s.needAny(coach, s.getMe))
	mux.HandleFunc("GET /authority.pem", s.getAuthority)
	mux.HandleFunc("GET /api/vocabulary", s.needAny(coach, s.getVocabulary))
	mux.HandleFunc("GET /api/court/{rules}", s.needAny(coach, s.getCourt))
	mux.HandleFunc("GET /api/games", s.needAny(coach, s.getGames))
	mux.HandleFunc("GET /api/games/{game}", s.need(coach, s.getGame))
	mux.HandleFunc("GET /api/games/{game}/charts/{chart}/events", s.need(coach, s.getEvents))
	mux.HandleFunc("GET /api/teams", s.needAny(coach, s.getTeams))
	mux.HandleFunc("GET /api/board", s.needAny(coach, s.getBoard))
	mux.HandleFunc("GET /api/players/{player}", s.needAny(coach, s.getProfile))
	mux.HandleFunc("GET /api/players/{player}/brief", s.needAny(coach, s.getBrief))
	mux.HandleFunc("GET /api/rates", s.needAny(coach, s.getRates))
	mux.HandleFunc("GET /api/frame", s.needAny(coach, s.getFrame))
	mux.HandleFunc("GET /api/evidence", s.needAny(coach, s.getEvidence))
	mux.HandleFunc("GET /api/clips", s.needAny(coach, s.getClips))
	mux.HandleFunc("GET /api/definitions", s.needAny(coach, s.getDefinitions))
	mux.HandleFunc("GET /api/definitions/{definition}", s.needAny(coach, s.getDefinition))
	mux.HandleFunc("POST /api/definitions/check", s.asking(coach, s.postCheck))
	mux.HandleFunc("POST /api/definitions/run", s.asking(coach, s.postRun))
	mux.HandleFunc("POST /api/definitions/save", s.needAny(analyst, s.postDefinition))
	mux.HandleFunc("POST /api/definitions/in-force", s.needAny(analyst, s.postInForce))
	s.auditRoutes(mux)
	mux.HandleFunc("GET /ws/pad", s.needAny(charter, s.padSocket))
	mux.HandleFunc("GET /ws/board", s.needAny(coach, s.boardSocket))
	mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, faultf(notFound, "there is no %s %s", r.Method, r.URL.Path))
	})
	mux.Handle("/", app.Handler())
	return mux
}

func (s *Server) answer(w http.ResponseWriter, r *http.Request, v any) {
	text, err := json.Marshal(v)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write(text)
}
