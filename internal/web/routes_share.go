package web

// shareRoutes are the pages of cards: one is made of a mix, and somebody
// else's is taken in.
func (s *Server) shareRoutes(at adder) {
	at("GET /mix/{id}/card", s.cardForm)
	at("POST /mix/{id}/card", s.makeCard)
	at("GET /mix/{id}/picture", s.mixPicture)
	at("GET /mix/{id}/caption", s.mixCaption)
	at("GET "+cardPath, s.cardFile)
	at("POST "+cardPath, s.readCard)
	at("POST "+cardPath+"/take", s.takeCard)
}
