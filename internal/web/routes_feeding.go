package web

// feedingRoutes are the pages of feeding a group.
func (s *Server) feedingRoutes(at adder) {
	at("GET /animals/{id}/portion", s.portion)
	at("POST /animals/{id}/portion", s.savePortion)
	at("GET /animals/{id}/week", s.week)
	at("POST /animals/{id}/week", s.saveWeek)
	at("GET /animals/{id}/week/{sheet}", s.weekSheet)
	at("GET /animals/{id}/week/shopping", s.weekSheet)
	at("GET /animals/{id}/week.ics", s.weekCalendar)
	at("GET /animals/{id}/diet", s.diet)
	at("POST /animals/{id}/diet/mend", s.mendDiet)
	at("GET /animals/{id}/weights", s.weights)
	at("POST /animals/{id}/weights", s.saveWeights)
	at("GET /animals/{id}/bowl", s.leftovers)
	at("POST /animals/{id}/bowl", s.saveBowl)
	at("GET /animals/{id}/spoonful", s.spoonful)
	at("GET /animals/{id}/feeding", s.feedingDocument)
	at("POST /animals/{id}/feeding", s.importFeeding)
}
