package web

// deviceRoutes are the pages of other devices. Which of all pages another
// device may open stands in devices_allow.go.
func (s *Server) deviceRoutes(at adder) {
	at("GET /devices", s.devices)
	at("POST /devices/share", s.share)
	at("POST /devices/code", s.newCode)
	at("POST /devices/{id}/revoke", s.revoke)
	at("POST /devices/{id}/rename", s.renameDevice)
	at("GET /devices/certificate", s.shareCertificate)

	at("GET /making/sw.js", s.serviceWorker)
	at("GET /making/app.webmanifest", s.webManifest)

	at("GET "+pairPath, s.pairForm)
	at("POST "+pairPath, s.pair)
}
