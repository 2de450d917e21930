package api

import (
	"context"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"gristmark/internal/harvest"
	"gristmark/internal/result"
	"gristmark/internal/web/strip"
)

// PhotoID is a photo in the address.
type PhotoID struct {
	Photo string `path:"photo" minLength:"26" maxLength:"26" pattern:"^[a-z0-9]+$"`
}

func (s *server) photoRoutes() {
	s.uploadRoute()
	route(s, "get-photo", "GET", "/photos/{photo}", "A photo's state, and its newest measurement", s.photo)
	route(s, "drop-photo", "DELETE", "/photos/{photo}", "Delete a photo; the load is judged anew", s.dropPhoto)
	route(s, "get-image", "GET", "/photos/{photo}/image", "The photo without what the camera wrote beside the picture, such as the place", s.image, picture("image/jpeg", "image/png", "image/webp"), also(http.StatusUnsupportedMediaType))
	route(s, "get-overlay", "GET", "/photos/{photo}/overlay", "The photo with what was found drawn in; 404 while there is none", s.overlay, picture("image/jpeg"))
	route(s, "list-measurements", "GET", "/photos/{photo}/measurements", "Every measurement of the photo, newest first", s.measurements)
	route(s, "correct", "PUT", "/photos/{photo}/particles/{particle}", "Give a piece its class; answers with the load judged anew", s.correct)
	route(s, "uncorrect", "DELETE", "/photos/{photo}/particles/{particle}", "Take that back; answers with the load judged anew", s.uncorrect)
}

// uploadRoute takes a photo as it comes, without holding it in memory.
func (s *server) uploadRoute() {
	photo := s.api.OpenAPI().Components.Schemas.Schema(typeOf[Photo](), true, "Photo")
	problem := s.api.OpenAPI().Components.Schemas.Schema(typeOf[huma.ErrorModel](), true, "ErrorModel")
	binary := &huma.Schema{Type: huma.TypeString, Format: "binary"}
	op := &huma.Operation{
		OperationID: "add-photo", Method: http.MethodPost, Path: Prefix + "/loads/{load}/photos", Tags: []string{"loads"},
		Summary: "Upload a photo: stored and queued to be measured before it is acknowledged",
		Description: "The body is the photo itself, its name in the parameter file, or a form with one file named photo. The same Idempotency-Key of the same " +
			"account answers 200 with the photo that came first.",
		Parameters: []*huma.Param{
			{Name: "load", In: "path", Required: true, Schema: &huma.Schema{Type: huma.TypeInteger, Format: "int64", Minimum: ptr(1.0)}},
			{Name: "file", In: "query", Description: "the photo's name", Schema: &huma.Schema{Type: huma.TypeString, MaxLength: ptr(500)}},
			{Name: "Idempotency-Key", In: "header", Description: "unlike for every photo, the same when it is sent again", Schema: &huma.Schema{Type: huma.TypeString, MaxLength: ptr(200)}},
		},
		RequestBody: &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
			"image/jpeg": {Schema: binary}, "image/png": {Schema: binary}, "image/heic": {Schema: binary}, "image/webp": {Schema: binary}, "image/tiff": {Schema: binary},
			"application/octet-stream": {Schema: binary},
			"multipart/form-data":      {Schema: &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{"photo": binary}, Required: []string{"photo"}}},
		}},
		Responses: map[string]*huma.Response{
			"200": {Description: "It had come before", Content: map[string]*huma.MediaType{"application/json": {Schema: photo}}},
			"201": {Description: "Created", Content: map[string]*huma.MediaType{"application/json": {Schema: photo}}},
		},
	}
	for _, status := range []int{400, 401, 403, 404, 410, 413, 422, 429, 503, 507} {
		op.Responses[fmt.Sprint(status)] = &huma.Response{Description: http.StatusText(status), Content: map[string]*huma.MediaType{"application/problem+json": {Schema: problem}}}
	}
	documented := *op
	documented.Path = op.Path[len(Prefix):]
	s.api.OpenAPI().AddOperation(&documented)
	s.api.Adapter().Handle(&documented, func(ctx huma.Context) { s.signedIn(ctx, s.upload) })
}

func (s *server) upload(ctx huma.Context) {
	r, w := humago.Unwrap(ctx)
	var load int64
	if _, err := fmt.Sscan(r.PathValue("load"), &load); err != nil || load < 1 || fmt.Sprint(load) != r.PathValue("load") {
		refuse(w, http.StatusNotFound, sentence(harvest.ErrNone))
		return
	}
	name, body, problem := photoBody(r)
	if problem != "" {
		refuse(w, http.StatusBadRequest, problem)
		return
	}
	p, again, err := s.desk(ctx.Context()).Upload(ctx.Context(), load, r.Header.Get("Idempotency-Key"), name, body, s.opt.MaxPhotoBytes)
	if err != nil {
		status, text := s.tell(r.Context(), err)
		refuse(w, status, text)
		return
	}
	status := http.StatusCreated
	if again {
		status = http.StatusOK
	}
	out := photoOf(p)
	ctx.SetHeader("Content-Type", "application/json")
	ctx.SetStatus(status)
	_ = s.api.Marshal(ctx.BodyWriter(), "application/json", out) // the photo is stored, whoever went away asks again
}

// photoBody finds the photo in a request: the body itself, or the form's file. problem says in a sentence why there is none.
func photoBody(r *http.Request) (name string, body io.Reader, problem string) {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind != "multipart/form-data" {
		return r.URL.Query().Get("file"), r.Body, ""
	}
	if err != nil {
		return "", nil, "The form cannot be read: its boundary is missing."
	}
	form, err := r.MultipartReader()
	if err != nil {
		return "", nil, "The form cannot be read."
	}
	for range mostParts {
		var part *multipart.Part
		if part, err = form.NextPart(); err != nil {
			break
		}
		if part.FormName() == "photo" {
			return part.FileName(), part, ""
		}
	}
	return "", nil, "The form has no file named photo."
}

// mostParts of a form are looked through for the photo.
const mostParts = 20

func (s *server) photo(ctx context.Context, in *PhotoID) (*page[Photo], error) {
	p, err := s.desk(ctx).Photo(ctx, in.Photo)
	return answer(photoOf(p)), err
}

func (s *server) dropPhoto(ctx context.Context, in *PhotoID) (*nothing, error) {
	return nil, s.desk(ctx).DropPhoto(ctx, in.Photo)
}

// file is an answer that is no JSON.
type file struct {
	ContentType string `header:"Content-Type"`
	Body        []byte
}

func picture(kinds ...string) func(*huma.Operation) {
	return func(op *huma.Operation) {
		content := map[string]*huma.MediaType{}
		for _, k := range kinds {
			content[k] = &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}
		}
		op.Responses = map[string]*huma.Response{"200": {Description: "OK", Content: content}}
	}
}

func (s *server) image(ctx context.Context, in *PhotoID) (*file, error) {
	data, err := s.blob(s.desk(ctx).OpenPhoto(ctx, in.Photo))
	if err != nil {
		return nil, err
	}
	out, kind, err := strip.Photo(data)
	if err != nil {
		return nil, errKind
	}
	return &file{kind, out}, nil
}

func (s *server) overlay(ctx context.Context, in *PhotoID) (*file, error) {
	data, err := s.blob(s.desk(ctx).OpenOverlay(ctx, in.Photo))
	return &file{"image/jpeg", data}, err
}

func (s *server) blob(r io.ReadCloser, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}

func (s *server) measurements(ctx context.Context, in *PhotoID) (*page[list[Measurement]], error) {
	m, err := s.desk(ctx).Measurements(ctx, in.Photo)
	return listOf(each(m, measurementOf)), err
}

// ParticleID is a piece of a photo in the address.
type ParticleID struct {
	PhotoID
	Particle int `path:"particle" minimum:"1"`
}

type correctIn struct {
	ParticleID
	Body struct {
		Class result.Class `json:"class" enum:"whole_kernel,broken_kernel,stover"`
	}
}

func (s *server) correct(ctx context.Context, in *correctIn) (*page[Load], error) {
	l, err := s.desk(ctx).Correct(ctx, in.Photo, in.Particle, in.Body.Class)
	return answer(loadOf(l)), err
}

func (s *server) uncorrect(ctx context.Context, in *ParticleID) (*page[Load], error) {
	l, err := s.desk(ctx).Uncorrect(ctx, in.Photo, in.Particle)
	return answer(loadOf(l)), err
}
