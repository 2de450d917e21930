package api

import (
	"encoding/json"

	"github.com/danielgtaylor/huma/v2"

	"gristmark/internal/harvest"
	"gristmark/internal/result"
)

// list is a part of a longer list.
type list[T any] struct {
	Items []T    `json:"items" nullable:"false"`
	Next  *int64 `json:"next,omitempty" doc:"give it as the parameter named in the description to get what follows; absent at the end"`
}

// page is an answer with one body.
type page[T any] struct{ Body T }

func answer[T any](v T) *page[T] { return &page[T]{v} }

func listOf[T any](items []T) *page[list[T]] {
	if items == nil {
		items = []T{}
	}
	return &page[list[T]]{list[T]{Items: items}}
}

// document is the measurement document; its schema is a contract of its own, with numbers that may be null.
type document struct{ of *result.Document }

// MarshalJSON writes the document itself.
func (d document) MarshalJSON() ([]byte, error) { return json.Marshal(d.of) }

// Schema tells what a document is.
func (document) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeObject, AdditionalProperties: true,
		Description: "The measurement document of a sample, schema gristmark.sample/1, as gristmark measure --json prints it."}
}

func documentOf(d *result.Document) *document {
	if d == nil {
		return nil
	}
	return &document{d}
}

// measured is a photo's record in a measurement document.
type measured struct{ of *result.Photo }

// MarshalJSON writes the record itself.
func (m measured) MarshalJSON() ([]byte, error) { return json.Marshal(m.of) }

// Schema tells what a photo's record is.
func (measured) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeObject, AdditionalProperties: true,
		Description: "One photo of a measurement document: its status, scale, checks and particles."}
}

func measuredOf(p *result.Photo) *measured {
	if p == nil {
		return nil
	}
	return &measured{p}
}

// Photo as the API gives it.
type Photo struct {
	harvest.Photo
	Result *measured `json:"result,omitempty" doc:"newest measurement, without corrections"`
}

// Load as the API gives it.
type Load struct {
	harvest.Load
	Photos   []Photo   `json:"photos,omitempty" nullable:"false"`
	Document *document `json:"document,omitempty" doc:"newest, corrections applied; absent while nothing is measured"`
}

// Measurement as the API gives it.
type Measurement struct {
	harvest.Measurement
	Photo *measured `json:"photo"`
}

func photoOf(p harvest.Photo) Photo {
	out := Photo{Photo: p, Result: measuredOf(p.Result)}
	out.Photo.Result = nil
	return out
}

func loadOf(l harvest.Load) Load {
	out := Load{Load: l, Document: documentOf(l.Document)}
	for _, p := range l.Photos {
		out.Photos = append(out.Photos, photoOf(p))
	}
	out.Load.Photos, out.Load.Document = nil, nil
	return out
}

func measurementOf(m harvest.Measurement) Measurement {
	out := Measurement{Measurement: m, Photo: measuredOf(m.Photo)}
	out.Measurement.Photo = nil
	return out
}

func each[A, B any](in []A, f func(A) B) []B {
	out := make([]B, len(in))
	for i, a := range in {
		out[i] = f(a)
	}
	return out
}
