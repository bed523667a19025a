package web

import "net/http"

// auditRoutes lists the addresses of the Audit page. Whoever may read may ask;
// a charter may enter totals and write a settled chart; which chart is of record
// is an analyst's to say.
func (s *Server) auditRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /api/audit", s.needAny(coach, s.getAudits))
	mux.HandleFunc("GET /api/audit/{game}", s.need(coach, s.getAudit))
	mux.HandleFunc("GET /api/audit/{game}/agreement", s.need(coach, s.getAgreement))
	mux.HandleFunc("GET /api/audit/{game}/training", s.need(coach, s.getTraining))
	mux.HandleFunc("GET /api/audit/{game}/settling", s.need(coach, s.getSettling))
	mux.HandleFunc("POST /api/audit/{game}/effect", s.asking(coach, s.postEffect))
	mux.HandleFunc("POST /api/audit/{game}/settled", s.need(charter, s.postSettled))
	mux.HandleFunc("POST /api/audit/{game}/totals", s.need(charter, s.postTotals))
	mux.HandleFunc("POST /api/audit/{game}/record", s.need(analyst, s.postRecord))
	mux.HandleFunc("GET /api/charters", s.needAny(coach, s.getCharters))
}
