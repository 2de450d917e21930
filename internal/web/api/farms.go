package api

import (
	"context"
	"time"

	"gristmark/internal/harvest"
)

// FarmID is a farm in the address.
type FarmID struct {
	Farm int64 `path:"farm" minimum:"1"`
}

type nothing struct{}

// me is who asks.
type me struct {
	Name      string `json:"name"`
	AccountID int64  `json:"account_id,omitempty" doc:"absent with a crew link"`
	HarvestID int64  `json:"harvest_id,omitempty" doc:"the harvest of the crew link"`
}

// secret is a link or token that is told once.
type secret struct {
	Token     string    `json:"token" doc:"told this once; the log keeps only its hash"`
	ExpiresAt time.Time `json:"expires_at"`
}

// Life of links and tokens, from now.
type Life struct {
	Hours int `json:"hours,omitempty" minimum:"1" maximum:"17520" default:"168" doc:"until it expires"`
}

func (l Life) duration() time.Duration { return time.Duration(l.Hours) * time.Hour }

func (s *server) farmRoutes() {
	route(s, "me", "GET", "/me", "Who asks", s.me)
	route(s, "list-farms", "GET", "/farms", "The farms of the account", s.farms)
	route(s, "add-farm", "POST", "/farms", "Add a farm; whoever adds it becomes its adviser", s.addFarm, created)
	route(s, "list-members", "GET", "/farms/{farm}/members", "Accounts with a role on the farm", s.members)
	route(s, "set-role", "PUT", "/farms/{farm}/members/{account}", "Give an account of the farm a role", s.setRole)
	route(s, "drop-member", "DELETE", "/farms/{farm}/members/{account}", "Take an account off the farm", s.dropMember)
	route(s, "invite", "POST", "/farms/{farm}/invitations", "Make a link by which one person joins the farm: /join/TOKEN", s.invite, created)
	route(s, "list-changes", "GET", "/farms/{farm}/changes", "Who changed what, newest first; what follows: before", s.changes)
	route(s, "list-tokens", "GET", "/tokens", "Tokens of the account", s.tokens)
	route(s, "add-token", "POST", "/tokens", "Make a token of the account", s.addToken, created)
	route(s, "drop-token", "DELETE", "/tokens/{token}", "Revoke a token", s.dropToken)
}

func (s *server) me(ctx context.Context, _ *nothing) (*page[me], error) {
	w := s.desk(ctx).Who()
	return answer(me{w.Name, w.AccountID, w.HarvestID}), nil
}

func (s *server) farms(ctx context.Context, _ *nothing) (*page[list[harvest.Farm]], error) {
	farms, err := s.desk(ctx).Farms(ctx)
	return listOf(farms), err
}

type farmIn struct {
	Body struct {
		Name string `json:"name" minLength:"1" maxLength:"200"`
	}
}

func (s *server) addFarm(ctx context.Context, in *farmIn) (*page[harvest.Farm], error) {
	f, err := s.desk(ctx).AddFarm(ctx, in.Body.Name)
	return answer(f), err
}

func (s *server) members(ctx context.Context, in *FarmID) (*page[list[harvest.Member]], error) {
	m, err := s.desk(ctx).Members(ctx, in.Farm)
	return listOf(m), err
}

// MemberID is an account of a farm in the address.
type MemberID struct {
	FarmID
	Account int64 `path:"account" minimum:"1"`
}

type roleIn struct {
	MemberID
	Body struct {
		Role harvest.Role `json:"role" enum:"adviser,crew,reader"`
	}
}

func (s *server) setRole(ctx context.Context, in *roleIn) (*nothing, error) {
	return nil, s.desk(ctx).SetRole(ctx, in.Farm, in.Account, in.Body.Role)
}

func (s *server) dropMember(ctx context.Context, in *MemberID) (*nothing, error) {
	return nil, s.desk(ctx).SetRole(ctx, in.Farm, in.Account, "")
}

type inviteIn struct {
	FarmID
	Body struct {
		Life
		Role harvest.Role `json:"role" enum:"adviser,crew,reader"`
	}
}

func (s *server) invite(ctx context.Context, in *inviteIn) (*page[secret], error) {
	token, err := s.desk(ctx).Invite(ctx, in.Farm, in.Body.Role, in.Body.duration())
	return answer(secret{token, time.Now().Add(in.Body.duration()).UTC()}), err
}

type changesIn struct {
	FarmID
	Before int64 `query:"before" minimum:"0" doc:"only those with a smaller id"`
	Limit  int   `query:"limit" minimum:"1" maximum:"500" default:"100"`
}

func (s *server) changes(ctx context.Context, in *changesIn) (*page[list[harvest.Change]], error) {
	c, err := s.desk(ctx).Changes(ctx, in.Farm, in.Before, in.Limit+1)
	out := listOf(c)
	if len(c) > in.Limit {
		out.Body.Items, out.Body.Next = c[:in.Limit], &c[in.Limit-1].ID
	}
	return out, err
}

func (s *server) tokens(ctx context.Context, _ *nothing) (*page[list[harvest.Token]], error) {
	t, err := s.desk(ctx).Tokens(ctx)
	return listOf(t), err
}

type tokenIn struct {
	Body struct {
		Life
		Label string `json:"label" minLength:"1" maxLength:"200" doc:"what it is for"`
	}
}

type tokenOut struct {
	harvest.Token
	Text string `json:"token" doc:"told this once; the log keeps only its hash"`
}

func (s *server) addToken(ctx context.Context, in *tokenIn) (*page[tokenOut], error) {
	text, t, err := s.desk(ctx).AddToken(ctx, in.Body.Label, in.Body.duration())
	return answer(tokenOut{t, text}), err
}

func (s *server) dropToken(ctx context.Context, in *struct {
	Token int64 `path:"token" minimum:"1"`
}) (*nothing, error) {
	return nil, s.desk(ctx).DropToken(ctx, in.Token)
}
