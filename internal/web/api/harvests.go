package api

import (
	"context"

	"gristmark/internal/harvest"
)

// HarvestID is a harvest in the address.
type HarvestID struct {
	Harvest int64 `path:"harvest" minimum:"1"`
}

func (s *server) harvestRoutes() {
	route(s, "list-harvests", "GET", "/harvests", "Harvests of the account's farms, or of one; what follows: offset", s.harvests)
	route(s, "add-harvest", "POST", "/harvests", "Add a harvest to a farm", s.addHarvest, created)
	route(s, "get-harvest", "GET", "/harvests/{harvest}", "One harvest", s.harvest)
	route(s, "change-harvest", "PUT", "/harvests/{harvest}", "Change name, crop and targets; with other targets every load is judged anew", s.changeHarvest)
	route(s, "drop-harvest", "DELETE", "/harvests/{harvest}", "Delete a harvest with all that is in it", s.dropHarvest)
	route(s, "last-settings", "GET", "/harvests/{harvest}/settings", "Settings of the latest load, to start the next from", s.lastSettings)
	route(s, "remeasure", "POST", "/harvests/{harvest}/remeasure", "Measure again what another version measured; old results stay", s.remeasure)
}

type harvestsIn struct {
	Farm   int64 `query:"farm" minimum:"0" doc:"of one farm"`
	Limit  int   `query:"limit" minimum:"1" maximum:"500" default:"100"`
	Offset int   `query:"offset" minimum:"0"`
}

func (s *server) harvests(ctx context.Context, in *harvestsIn) (*page[list[harvest.Harvest]], error) {
	all, err := s.desk(ctx).Harvests(ctx, in.Farm)
	return cut(all, in.Offset, in.Limit), err
}

// cut takes a part out of a whole list.
func cut[T any](all []T, offset, limit int) *page[list[T]] {
	from := min(offset, len(all))
	to := min(from+limit, len(all))
	out := listOf(all[from:to])
	if to < len(all) {
		next := int64(to)
		out.Body.Next = &next
	}
	return out
}

// HarvestBody is what may be told of a harvest.
type HarvestBody struct {
	Name    string `json:"name" minLength:"1" maxLength:"200"`
	Crop    string `json:"crop,omitempty" maxLength:"200" doc:"whole-plant maize unless told"`
	Targets string `json:"targets,omitempty" maxLength:"200" doc:"name of a target set"`
}

type addHarvestIn struct {
	Body struct {
		HarvestBody
		Farm int64 `json:"farm_id" minimum:"1"`
	}
}

func (s *server) addHarvest(ctx context.Context, in *addHarvestIn) (*page[harvest.Harvest], error) {
	b := in.Body
	h, err := s.desk(ctx).AddHarvest(ctx, harvest.Harvest{FarmID: b.Farm, Name: b.Name, Crop: b.Crop, Targets: b.Targets})
	return answer(h), err
}

func (s *server) harvest(ctx context.Context, in *HarvestID) (*page[harvest.Harvest], error) {
	h, err := s.desk(ctx).Harvest(ctx, in.Harvest)
	return answer(h), err
}

type changeHarvestIn struct {
	HarvestID
	Body HarvestBody
}

func (s *server) changeHarvest(ctx context.Context, in *changeHarvestIn) (*page[harvest.Harvest], error) {
	h, err := s.desk(ctx).ChangeHarvest(ctx, harvest.Harvest{ID: in.Harvest, Name: in.Body.Name, Crop: in.Body.Crop, Targets: in.Body.Targets})
	return answer(h), err
}

func (s *server) dropHarvest(ctx context.Context, in *HarvestID) (*nothing, error) {
	return nil, s.desk(ctx).DropHarvest(ctx, in.Harvest)
}

func (s *server) lastSettings(ctx context.Context, in *HarvestID) (*page[harvest.Settings], error) {
	set, err := s.desk(ctx).LastSettings(ctx, in.Harvest)
	return answer(set), err
}

type queued struct {
	Photos int `json:"photos" doc:"queued to be measured"`
}

func (s *server) remeasure(ctx context.Context, in *HarvestID) (*page[queued], error) {
	n, err := s.desk(ctx).Remeasure(ctx, in.Harvest)
	return answer(queued{n}), err
}
