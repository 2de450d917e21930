package api

import (
	"context"
	"net/http"
	"time"

	"gristmark/internal/harvest"
)

// LoadID is a load in the address.
type LoadID struct {
	Load int64 `path:"load" minimum:"1"`
}

func (s *server) loadRoutes() {
	route(s, "list-loads", "GET", "/harvests/{harvest}/loads", "Loads of a harvest in time, each with its newest document; what follows: offset", s.loads)
	route(s, "add-load", "POST", "/harvests/{harvest}/loads", "Add a load", s.addLoad, created)
	route(s, "get-load", "GET", "/loads/{load}", "A load with photos, document and typed results", s.load)
	route(s, "change-load", "PUT", "/loads/{load}", "Change name, time and settings; version must be the load's, else 409", s.changeLoad, also(http.StatusConflict))
	route(s, "drop-load", "DELETE", "/loads/{load}", "Delete a load with its photos", s.dropLoad)
	route(s, "get-document", "GET", "/loads/{load}/document", "The load's measurement document; 404 while nothing is measured", s.document)
	route(s, "list-corrections", "GET", "/loads/{load}/corrections", "Classes that people gave to pieces", s.corrections)
	route(s, "add-typed", "POST", "/loads/{load}/typed", "Enter a result of sieve boxes, cup or laboratory", s.addTyped, created)
	route(s, "drop-typed", "DELETE", "/typed/{typed}", "Delete an entered result", s.dropTyped)
}

type loadsIn struct {
	HarvestID
	Field     string    `query:"field"`
	Hybrid    string    `query:"hybrid"`
	Process   string    `query:"process"`
	Text      string    `query:"text" doc:"in name, field, hybrid or settings"`
	From      time.Time `query:"from" doc:"sampled at or after"`
	To        time.Time `query:"to" doc:"sampled before"`
	Particles bool      `query:"particles" doc:"the documents with every piece"`
	Limit     int       `query:"limit" minimum:"1" maximum:"200" default:"50"`
	Offset    int       `query:"offset" minimum:"0"`
}

func (s *server) loads(ctx context.Context, in *loadsIn) (*page[list[Load]], error) {
	l, err := s.desk(ctx).Loads(ctx, in.Harvest, harvest.Filter{
		Field: in.Field, Hybrid: in.Hybrid, Process: in.Process, Text: in.Text, From: in.From, To: in.To,
		WithParticles: in.Particles, Limit: in.Limit + 1, Offset: in.Offset,
	})
	out := cut(each(l, loadOf), 0, in.Limit)
	if out.Body.Next != nil {
		*out.Body.Next += int64(in.Offset)
	}
	return out, err
}

// LoadBody is what may be told of a load.
type LoadBody struct {
	Name     string           `json:"name" maxLength:"200"`
	Settings harvest.Settings `json:"settings,omitempty"`
	At       *time.Time       `json:"at,omitempty" doc:"when it was sampled; without it now, until its photos tell an earlier time"`
}

func (b LoadBody) load() harvest.Load {
	l := harvest.Load{Name: b.Name, Settings: b.Settings}
	if b.At != nil {
		l.At = *b.At
	}
	return l
}

type addLoadIn struct {
	HarvestID
	Body LoadBody
}

func (s *server) addLoad(ctx context.Context, in *addLoadIn) (*page[Load], error) {
	l := in.Body.load()
	l.HarvestID = in.Harvest
	l, err := s.desk(ctx).AddLoad(ctx, l)
	return answer(loadOf(l)), err
}

func (s *server) load(ctx context.Context, in *LoadID) (*page[Load], error) {
	l, err := s.desk(ctx).Load(ctx, in.Load)
	return answer(loadOf(l)), err
}

type changeLoadIn struct {
	LoadID
	Body struct {
		LoadBody
		Version int64 `json:"version" minimum:"1" doc:"of the load that the change starts from"`
	}
}

func (s *server) changeLoad(ctx context.Context, in *changeLoadIn) (*page[Load], error) {
	l := in.Body.load()
	l.ID, l.Version = in.Load, in.Body.Version
	if in.Body.At == nil {
		had, err := s.desk(ctx).Load(ctx, in.Load)
		if err != nil {
			return nil, err
		}
		l.At = had.At
	}
	l, err := s.desk(ctx).ChangeLoad(ctx, l)
	return answer(loadOf(l)), err
}

func (s *server) dropLoad(ctx context.Context, in *LoadID) (*nothing, error) {
	return nil, s.desk(ctx).DropLoad(ctx, in.Load)
}

func (s *server) document(ctx context.Context, in *LoadID) (*page[*document], error) {
	l, err := s.desk(ctx).Load(ctx, in.Load)
	if err == nil && l.Document == nil {
		err = harvest.ErrNone
	}
	return answer(documentOf(l.Document)), err
}

func (s *server) corrections(ctx context.Context, in *LoadID) (*page[list[harvest.Correction]], error) {
	c, err := s.desk(ctx).Corrections(ctx, in.Load)
	return listOf(c), err
}

type typedIn struct {
	LoadID
	Body struct {
		Kind   string            `json:"kind" enum:"sieve,cup,lab"`
		Fields map[string]string `json:"fields" minProperties:"1" maxProperties:"40" doc:"as entered; for sieve a field table with the text of a sieve file"`
	}
}

func (s *server) addTyped(ctx context.Context, in *typedIn) (*page[harvest.Typed], error) {
	t, err := s.desk(ctx).AddTyped(ctx, in.Load, in.Body.Kind, in.Body.Fields)
	return answer(t), err
}

func (s *server) dropTyped(ctx context.Context, in *struct {
	Typed int64 `path:"typed" minimum:"1"`
}) (*nothing, error) {
	return nil, s.desk(ctx).DropTyped(ctx, in.Typed)
}
