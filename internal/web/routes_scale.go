package web

// scaleRoutes are the pages of the makings, the lots and the jar labels. Other
// devices have theirs in routes_devices.go.
func (s *Server) scaleRoutes(at adder) {
	at("GET /making", s.makings)
	at("GET /making/export", s.exportMakings)
	at("GET /making/new", s.newMaking)
	at("POST /making/new", s.shapeMaking)
	at("POST /making/{id}/event", s.postEvent) // weigh_event.go says what it takes
	at("GET /making/{id}/state", s.makingState)
	at("GET /making/{id}", s.makingPage)
	at("POST /making/{id}", s.saveRecord)
	at("GET /making/{id}/rescue", s.rescuePage)
	at("GET /making/{id}/finish", s.finishPage)
	at("POST /making/{id}/finish", s.finishMaking)
	at("GET /making/{id}/label", s.label)
	at("GET /making/{id}/mixed", s.mixedPage)
	at("POST /making/{id}/mixed", s.keepMixed)

	at("GET /lots", s.lots)
	at("POST /lots", s.addLot)
	at("GET /lots/{id}", s.lot)
	at("POST /lots/{id}", s.saveLot)
	at("POST /lots/{id}/delete", s.deleteLot)

	at("GET /screen", s.screen)
	at("POST /screen", s.saveScreen)
	at("GET /life/{ingredient}/{form}", s.life)
}
