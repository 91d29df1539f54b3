package web

// scaleRoutes are the pages of the makings, the lots and other devices.
func (s *Server) scaleRoutes(at adder) {}
