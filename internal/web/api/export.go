package api

import (
	"errors"
	"net/http"
	"reflect"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// errKind answers for photos whose place cannot be taken out.
var errKind = errors.New("api: this kind of photo cannot be served")

func typeOf[T any]() reflect.Type { return reflect.TypeFor[T]() }
func ptr[T any](v T) *T           { return &v }

// download is a file that the pages make and the API hands on.
type download struct{ name, path, kind, summary string }

var downloads = []download{
	{"results-csv", "/harvests/{harvest}/results.csv", "text/csv", "The loads as a table"},
	{"results-xlsx", "/harvests/{harvest}/results.xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "The loads as a workbook"},
	{"documents", "/harvests/{harvest}/documents.zip", "application/zip", "The measurement documents of all loads"},
	{"season", "/harvests/{harvest}/season.pdf", "application/pdf", "The season on paper"},
	{"sheet", "/loads/{load}/operator.pdf", "application/pdf", "The load's page for the operator"},
}

func (s *server) exportRoutes() {
	if s.opt.Exports == nil {
		return
	}
	problem := s.api.OpenAPI().Components.Schemas.Schema(typeOf[huma.ErrorModel](), true, "ErrorModel")
	for _, d := range downloads {
		id := "harvest"
		if d.name == "sheet" {
			id = "load"
		}
		op := &huma.Operation{
			OperationID: d.name, Method: http.MethodGet, Path: d.path, Tags: []string{"downloads"}, Summary: d.summary,
			Parameters: []*huma.Param{{Name: id, In: "path", Required: true, Schema: &huma.Schema{Type: huma.TypeInteger, Format: "int64", Minimum: ptr(1.0)}}},
			Responses: map[string]*huma.Response{
				"200": {Description: "OK", Content: map[string]*huma.MediaType{d.kind: {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}}},
			},
		}
		for _, status := range []string{"401", "403", "404", "422", "503"} {
			op.Responses[status] = &huma.Response{Description: status, Content: map[string]*huma.MediaType{"application/problem+json": {Schema: problem}}}
		}
		s.api.OpenAPI().AddOperation(op)
		s.api.Adapter().Handle(op, func(ctx huma.Context) { s.signedIn(ctx, s.handOn) })
	}
}

// handOn lets the pages answer under their own address; what they refuse becomes a problem document.
func (s *server) handOn(ctx huma.Context) {
	r, w := humago.Unwrap(ctx)
	inner := r.Clone(r.Context())
	inner.URL.Path = r.URL.Path[len(Prefix):]
	inner.URL.RawPath = ""
	s.opt.Exports.ServeHTTP(&problems{ResponseWriter: w}, inner)
}

// problems turns an error page into a problem document.
type problems struct {
	http.ResponseWriter
	refused bool
}

// Unwrap lets http.ResponseController through.
func (p *problems) Unwrap() http.ResponseWriter { return p.ResponseWriter }

func (p *problems) WriteHeader(status int) {
	if status < 300 {
		p.ResponseWriter.WriteHeader(status)
		return
	}
	if p.refused {
		return
	}
	p.refused = true
	says := map[int]string{
		http.StatusNotFound:           "There is no such thing here.",
		http.StatusForbidden:          "This account may not do that; ask an adviser of the farm.",
		http.StatusServiceUnavailable: "The log does not answer; try again in a minute.",
	}
	p.Header().Del("Content-Length")
	p.Header().Del("Content-Disposition")
	text, known := says[status]
	if !known {
		text = http.StatusText(status) + "."
	}
	refuse(p.ResponseWriter, status, text)
}

func (p *problems) Write(b []byte) (int, error) {
	if p.refused {
		return len(b), nil
	}
	return p.ResponseWriter.Write(b)
}
