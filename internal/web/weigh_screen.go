package web

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"time"

	"firlot/catalog"
	"firlot/internal/chart"
	"firlot/internal/store"
)

// A bank card, ISO/IEC 7810 size ID-1, in millimetres.
const (
	cardLong  = 85.60
	cardShort = 53.98
)

// screenCookie keeps, on each device for itself, how many CSS millimetres its
// screen needs for a real one. A screen's maker tells the browser nothing
// reliable about that.
const (
	screenCookie = "firlot_screen"
	leastScreen  = 0.4
	mostScreen   = 2.5
)

// screenScale is the device's calibration; it reports false where nobody has
// held a card to the glass yet.
func (q *request) screenScale() (float64, bool) {
	c, err := q.Cookie(screenCookie)
	if err != nil {
		return 1, false
	}
	v, err := strconv.ParseFloat(c.Value, 64)
	if err != nil || !(v >= leastScreen && v <= mostScreen) {
		return 1, false
	}
	return v, true
}

type screenView struct {
	Card    template.HTML
	Percent string // of CSS millimetres, as a plain number for the slider
	Least   int
	Most    int
	Known   bool
	Back    string
	Long    string // the card's sides in mm, for the script
	Short   string
}

// screen lets a keeper hold a bank card to the glass. The card is drawn
// upright: a phone is narrower than a card is long.
func (s *Server) screen(q *request) error {
	scale, known := q.screenScale()
	if at, err := strconv.ParseFloat(q.URL.Query().Get("at"), 64); err == nil && at >= 100*leastScreen && at <= 100*mostScreen {
		scale = at / 100
	}
	v := screenView{Known: known, Least: int(100 * leastScreen), Most: int(100 * mostScreen), Percent: strconv.FormatFloat(math.Round(1000*scale)/10, 'f', -1, 64),
		Card: cardOutline(scale, q.words.T("screen_card")), Back: localPath(q.URL.Query().Get("back")), Long: fmt.Sprint(cardLong), Short: fmt.Sprint(cardShort)}
	return q.show(http.StatusOK, "screen", "making", q.words.T("screen_title"), v)
}

// cardOutline is a card's outline, upright, as large as the calibration says.
func cardOutline(scale float64, title string) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg id="card" class="idcard" width="%.2fmm" height="%.2fmm" viewBox="0 0 %.2f %.2f" role="img" aria-label="%s"><rect x=".3" y=".3" width="%.2f" height="%.2f" rx="3.18" fill="none" stroke="currentColor" stroke-width=".6"/><path d="M8 14h9v11.5H8zM8 46h24M8 52h34" fill="none" stroke="currentColor" stroke-width=".4"/></svg>`,
		cardShort*scale, cardLong*scale, cardShort, cardLong, template.HTMLEscapeString(title), cardShort-.6, cardLong-.6))
}

func (s *Server) saveScreen(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	back := localPath(q.value("back"))
	v, err := strconv.ParseFloat(q.value("percent"), 64)
	if err != nil || v < 100*leastScreen || v > 100*mostScreen {
		return badRequest("no such size")
	}
	if q.value("do") == "draw" {
		return q.see("/screen?at=" + strconv.FormatFloat(v, 'f', -1, 64) + "&back=" + template.URLQueryEscaper(back))
	}
	http.SetCookie(q.w, &http.Cookie{Name: screenCookie, Value: strconv.FormatFloat(v/100, 'f', 4, 64), Path: "/", MaxAge: int((10 * 365 * 24 * time.Hour).Seconds()),
		HttpOnly: true, SameSite: http.SameSiteStrictMode})
	return q.see(back)
}

// localPath is a path of this app to go back to; anything else is the list of
// makings.
func localPath(p string) string {
	if !strings.HasPrefix(p, "/making/") || strings.ContainsAny(p, "\\?#\r\n") || strings.Contains(p, "//") {
		return "/making"
	}
	return p
}

// samplePieces are drawn at life size, no wider than a phone's page.
const (
	samplePieces = 8
	sampleWidth  = 296
	screenPxMM   = 96 / 25.4 // CSS px in a CSS millimetre
)

// life is a few pieces of a form at life size on a screen of a calibration.
func drawLife(f *catalog.Form, scale float64) string {
	return chart.Sample(f, chart.SampleOptions{Scale: screenPxMM * scale, Width: sampleWidth, Count: samplePieces})
}

// lifeSrc is the address of that picture.
func lifeSrc(f *catalog.Form, scale float64) string {
	return "/life/" + f.Ref() + "?s=" + strconv.FormatFloat(scale, 'f', -1, 64)
}

// life sends a form's life-size picture as a file of its own.
func (s *Server) life(q *request) error {
	f := s.Catalogue.Form(q.PathValue("ingredient") + "/" + q.PathValue("form"))
	if f == nil {
		return store.ErrNotFound
	}
	scale, err := strconv.ParseFloat(q.URL.Query().Get("s"), 64)
	if err != nil || !(scale >= leastScreen && scale <= mostScreen) {
		scale = 1
	}
	q.w.Header().Set("Content-Type", "image/svg+xml")
	q.w.Header().Set("Cache-Control", "private, max-age=86400")
	return q.send(http.StatusOK, []byte(drawLife(f, scale)))
}

// centimetre is a bar of one centimetre at a calibration.
func centimetre(scale float64, label string) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg class="cm" width="%.2fmm" height="9" viewBox="0 0 100 9" preserveAspectRatio="none" role="img" aria-label="%s"><path d="M.5 0V8H99.5V0" fill="none" stroke="currentColor" stroke-width="1.5" vector-effect="non-scaling-stroke"/></svg>`,
		10*scale, template.HTMLEscapeString(label)))
}

// lifeSize are the picture's sides as attributes, so that nothing moves under
// a finger when it arrives.
func lifeSize(f *catalog.Form, scale float64) string {
	m := sidesOfPicture.FindStringSubmatch(drawLife(f, scale))
	if m == nil {
		return ""
	}
	return m[0]
}

var sidesOfPicture = regexp.MustCompile(` width="[\d.]+" height="[\d.]+"`)
