package web

// shareRoutes are the pages of cards.
func (s *Server) shareRoutes(at adder) {}
