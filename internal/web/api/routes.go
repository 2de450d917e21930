package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
)

// route registers one operation; name is unique among them.
func route[I, O any](s *server, name, method, path, summary string, do func(context.Context, *I) (*O, error), more ...func(*huma.Operation)) {
	op := huma.Operation{OperationID: name, Method: method, Path: path, Summary: summary, Tags: []string{tagOf(path)}, BodyReadTimeout: -1,
		Errors: []int{http.StatusUnauthorized, http.StatusForbidden, http.StatusNotFound, http.StatusTooManyRequests, http.StatusServiceUnavailable}}
	if method == http.MethodPost || method == http.MethodPut {
		op.Errors = append(op.Errors, http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusUnsupportedMediaType)
	}
	for _, m := range more {
		m(&op)
	}
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := do(ctx, in)
		return out, s.problem(ctx, err)
	})
}

func tagOf(path string) string {
	for i := 1; i < len(path); i++ {
		if path[i] == '/' {
			return path[1:i]
		}
	}
	return path[1:]
}

func created(op *huma.Operation) { op.DefaultStatus = http.StatusCreated }
func also(statuses ...int) func(*huma.Operation) {
	return func(op *huma.Operation) { op.Errors = append(op.Errors, statuses...) }
}

func (s *server) routes() {
	s.harvestRoutes()
	s.farmRoutes()
	s.loadRoutes()
	s.photoRoutes()
	s.linkRoutes()
	s.exportRoutes()
}
