package web

// feedingRoutes are the pages of feeding a group.
func (s *Server) feedingRoutes(at adder) {}
