package web

// What the second door opens to whom. The patterns are those of routes; what
// is not listed is refused, so a new page is the laptop's own until somebody
// puts it here. docs/phone.md has the list in words.

const (
	pairPath   = "/pair"
	deviceHome = "/making"
)

// strangersMay is what is there without pairing: the pairing page, and the
// files that it is made of.
var strangersMay = patterns(
	"GET /pair",
	"POST /pair",
	"GET /static/", // of which strangersFiles only
)

var strangersFiles = patterns("/static/app.css", "/static/devices.css", "/static/icon.svg")

func strangersFile(pattern, path string) bool {
	return pattern != "GET /static/" || strangersFiles[path]
}

// devicesMay is what a paired device needs at the scale and at the cage, and
// no more. It changes no mix, shelf, group or week, sees no settings, carries no
// backup away and lets nobody in.
var devicesMay = patterns(
	"GET /static/",
	"GET /help",
	"GET /devices/certificate",
	"GET /making/sw.js",
	"GET /making/app.webmanifest",
	"GET /portrait/{ingredient}/{form}",
	"GET /life/{ingredient}/{form}",
	"GET /screen",
	"POST /screen",

	"GET /making",
	"GET /making/new",
	"POST /making/new",
	"GET /making/{id}",
	"POST /making/{id}",
	"POST /making/{id}/event",
	"GET /making/{id}/state",
	"GET /making/{id}/rescue",
	"GET /making/{id}/finish",
	"POST /making/{id}/finish",
	"GET /making/{id}/label",
	"GET /making/{id}/mixed",
	"POST /making/{id}/mixed",

	// At the cage: what is given, and writing down what was weighed and seen.
	// No shopping list, which says what the shelf holds, and no calendar.
	"GET /animals",
	"GET /animals/{id}/portion",
	"GET /animals/{id}/week",
	"GET /animals/{id}/week/{sheet}",
	"GET /animals/{id}/weights",
	"POST /animals/{id}/weights",
	"GET /animals/{id}/bowl",
	"POST /animals/{id}/bowl",

	"GET /lots",
	"POST /lots",
	"GET /lots/{id}",
)

func patterns(list ...string) map[string]bool {
	m := map[string]bool{}
	for _, p := range list {
		m[p] = true
	}
	return m
}
