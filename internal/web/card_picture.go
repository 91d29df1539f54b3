package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"firlot/card"
	"firlot/internal/cardpage"
	"firlot/internal/store"
)

// The pictures of a mix and its caption, for a post or a video.

var (
	pictureShapes = []string{"wide", "square", "tall"}
	pictureKinds  = []string{"png", "svg"}
)

func (s *Server) mixPicture(q *request) error {
	return s.drawn(q, func(ctx context.Context, m store.Mix, typed map[string]string) (string, string, []byte, error) {
		shape, kind := typed["shape"], typed["as"]
		if !slices.Contains(pictureShapes, shape) || !slices.Contains(pictureKinds, kind) {
			return "", "", nil, refused(q.words.T("card_bad_picture"))
		}
		c, err := s.pictureCard(ctx, q, m, typed)
		if err != nil {
			return "", "", nil, err
		}
		name := "." + shape + "." + kind
		if kind == "svg" {
			text, err := cardpage.SVG(ctx, c, 0, q.words.lang, shape)
			return name, "image/svg+xml", []byte(text), err
		}
		text, whole, err := cardpage.PNG(ctx, c, 0, q.words.lang, shape)
		if err == nil && !whole {
			err = refused(q.words.T("card_png_letters"))
		}
		return name, "image/png", text, err
	})
}

func (s *Server) mixCaption(q *request) error {
	return s.drawn(q, func(ctx context.Context, m store.Mix, typed map[string]string) (string, string, []byte, error) {
		c, err := s.pictureCard(ctx, q, m, typed)
		if err != nil {
			return "", "", nil, err
		}
		text, err := cardpage.Caption(ctx, c, 0, q.words.lang)
		return ".txt", "text/plain; charset=utf-8", []byte(strings.TrimRight(text, "\n") + "\n"), err
	})
}

// drawn sends what is made of a mix as a file, or shows the form with what is
// wrong.
func (s *Server) drawn(q *request, draw func(context.Context, store.Mix, map[string]string) (name, kind string, text []byte, err error)) error {
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	typed := cardTyped(q.URL.Query())
	if _, ok := q.URL.Query()["title"]; !ok { // an address of a picture alone, without the form
		for f, value := range s.cardAsFirstShown(q, m) {
			if typed[f] == "" {
				typed[f] = value
			}
		}
	}
	ctx, cancel := context.WithTimeout(q.Context(), solveTime)
	defer cancel()
	name, kind, text, err := draw(ctx, m, typed)
	var no cardRefused
	switch {
	case errors.As(err, &no):
		return s.showCardForm(q, http.StatusUnprocessableEntity, m, typed, no.why)
	case err != nil:
		return err
	}
	q.attach(fileName(m.Name)+name, kind)
	_, err = q.w.Write(text)
	return err
}

// pictureCard is the card of a mix alone, in the reader's language and without
// replacements: all that a picture shows.
func (s *Server) pictureCard(ctx context.Context, q *request, m store.Mix, typed map[string]string) (*card.Card, error) {
	alone := map[string]string{"edition": strconv.Itoa(1), "replacements": "0", namesField + q.words.lang: "1"}
	for _, f := range []string{"title", "by", "licence", "hosted"} {
		alone[f] = typed[f]
	}
	o, err := s.cardOptions(q, alone)
	if err != nil {
		return nil, err
	}
	stages, err := s.cardStages(ctx, q, m, alone)
	if err != nil {
		return nil, err
	}
	if o.Title != "" { // a picture is headed by its mix's title
		plan := *stages[0].Plan
		plan.Document = plan.Document.Copy()
		plan.Document.Title = o.Title
		return makeOf(ctx, q, []cardStage{{m.Name, &solved{Doc: plan.Document, Plan: &plan}}}, o)
	}
	return makeOf(ctx, q, stages, o)
}
