package api

import (
	"context"

	"gristmark/internal/harvest"
)

func (s *server) linkRoutes() {
	route(s, "list-crew-links", "GET", "/harvests/{harvest}/crew-links", "Links by which phones without an account upload", s.links)
	route(s, "add-crew-link", "POST", "/harvests/{harvest}/crew-links", "Make a crew link: /crew/TOKEN", s.addLink, created)
	route(s, "revoke-crew-link", "DELETE", "/crew-links/{link}", "Revoke a crew link", s.revokeLink)
}

func (s *server) links(ctx context.Context, in *HarvestID) (*page[list[harvest.CrewLink]], error) {
	l, err := s.desk(ctx).CrewLinks(ctx, in.Harvest)
	return listOf(l), err
}

type linkIn struct {
	HarvestID
	Body struct {
		Life
		Label string `json:"label" minLength:"1" maxLength:"200" doc:"whose phones; stands beside what they upload"`
	}
}

type linkOut struct {
	harvest.CrewLink
	Token string `json:"token" doc:"told this once; the log keeps only its hash"`
}

func (s *server) addLink(ctx context.Context, in *linkIn) (*page[linkOut], error) {
	token, l, err := s.desk(ctx).AddCrewLink(ctx, in.Harvest, in.Body.Label, in.Body.duration())
	return answer(linkOut{l, token}), err
}

func (s *server) revokeLink(ctx context.Context, in *struct {
	Link int64 `path:"link" minimum:"1"`
}) (*nothing, error) {
	return nil, s.desk(ctx).RevokeCrewLink(ctx, in.Link)
}
