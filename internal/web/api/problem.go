package api

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"

	"gristmark/internal/harvest"
)

// statuses of what the log answers, the more special first.
var statuses = []struct {
	err    error
	status int
}{
	{errKind, http.StatusUnsupportedMediaType},
	{harvest.ErrNone, http.StatusNotFound},
	{harvest.ErrRight, http.StatusForbidden},
	{harvest.ErrStale, http.StatusConflict},
	{harvest.ErrLink, http.StatusUnauthorized},
	{harvest.ErrSignIn, http.StatusForbidden},
	{harvest.ErrTooLarge, http.StatusRequestEntityTooLarge},
	{harvest.ErrInput, http.StatusUnprocessableEntity},
	{harvest.ErrDeleted, http.StatusGone},
	{harvest.ErrBusy, http.StatusTooManyRequests},
	{harvest.ErrStorage, http.StatusInsufficientStorage},
	{harvest.ErrDatabase, http.StatusServiceUnavailable},
}

// status and sentence of an error of the log; a fault of the program keeps its cause for the program's log.
func (s *server) tell(ctx context.Context, err error) (int, string) {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return http.StatusRequestEntityTooLarge, sentence(harvest.ErrTooLarge)
	}
	if ctx.Err() != nil {
		return 499, "The request was given up." // nobody reads it
	}
	for _, known := range statuses {
		if errors.Is(err, known.err) {
			if known.status >= 500 {
				s.opt.Logger.Error("the log does not answer", "error", err)
			}
			return known.status, sentence(err)
		}
	}
	s.opt.Logger.Error("a fault of the program", "error", err)
	return http.StatusInternalServerError, "A fault of the program; its log says more."
}

// problem is err as the API answers it; nil stays nil.
func (s *server) problem(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	status, text := s.tell(ctx, err)
	return &huma.ErrorModel{Status: status, Title: http.StatusText(status), Detail: text}
}

// sentence is an error as a sentence for a person.
func sentence(err error) string {
	text := strings.TrimPrefix(strings.TrimPrefix(err.Error(), "harvest: "), "api: ")
	first, n := utf8.DecodeRuneInString(text)
	text = string(unicode.ToUpper(first)) + text[n:]
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

func refuse(w http.ResponseWriter, status int, sentence string) {
	if status == http.StatusUnauthorized {
		w.Header().Set("WWW-Authenticate", `Bearer realm="gristmark"`)
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(huma.ErrorModel{Status: status, Title: http.StatusText(status), Detail: sentence}) // whoever went away does not read it
}
