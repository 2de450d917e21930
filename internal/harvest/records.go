// Package harvest is the log: farms, harvests, loads, photos, their measurements and who may see them.
package harvest

import (
	"errors"
	"time"

	"gristmark/internal/result"
)

// What the log answers where something is not to be had. A thing of another farm is as good as not there.
var (
	ErrNone   = errors.New("harvest: there is no such thing here")
	ErrRight  = errors.New("harvest: this account may not do that; ask an adviser of the farm")
	ErrStale  = errors.New("harvest: it was changed meanwhile; load it again and repeat the change")
	ErrLink   = errors.New("harvest: the link is used up, expired or revoked; ask for a new one")
	ErrSignIn = errors.New("harvest: name or password is wrong")
)

// Role is what an account may do on a farm.
type Role string

// The roles, each may do what those after it may.
const (
	Adviser Role = "adviser" // everything on the farm: accounts, links, targets, deletion
	Crew    Role = "crew"    // adds loads, photos, boxes, corrections
	Reader  Role = "reader"  // looks and exports
)

// Who asks: an account, or a phone with a crew link, which may add loads, photos and corrections to one harvest and see that harvest.
type Who struct {
	AccountID int64 // 0 with a crew link
	Name      string
	LinkID    int64 // 0 with an account
	HarvestID int64 // of the link
}

// Farm owns harvests.
type Farm struct {
	ID   int64  `json:"id"`
	Name string `json:"name"`
	Role Role   `json:"role"` // of whoever asks
}

// Harvest is one crop brought in: a bunker, a season.
type Harvest struct {
	ID      int64     `json:"id"`
	FarmID  int64     `json:"farm_id"`
	Name    string    `json:"name"`
	Crop    string    `json:"crop"`    // whole-plant maize unless told
	Targets string    `json:"targets"` // name of a target set
	Made    time.Time `json:"made_at"`
	Loads   int       `json:"loads"`  // in it
	Photos  int       `json:"photos"` // in it
}

// Settings are what is known of a load before it is measured. Nil and empty: not told.
type Settings struct {
	Field     string   `json:"field,omitempty"`
	Hybrid    string   `json:"hybrid,omitempty"`
	DMPct     *float64 `json:"dm_pct,omitempty"`
	TLOCMM    *float64 `json:"tloc_mm,omitempty"`
	RollGapMM *float64 `json:"roll_gap_mm,omitempty"`
	Process   string   `json:"process,omitempty"` // of the kernels, such as rolls, discs or none
	State     string   `json:"state,omitempty"`   // of the crop: fresh or fermented
	Show      string   `json:"show,omitempty"`    // what its photos show: kernels, pieces, mixed
	Scale     string   `json:"scale,omitempty"`   // as --scale; empty: auto
	Kernel    string   `json:"kernel,omitempty"`  // as --kernel
	Note      string   `json:"note,omitempty"`
}

// Load is one wagon or truck of chop, with its photos.
type Load struct {
	ID        int64     `json:"id"`
	HarvestID int64     `json:"harvest_id"`
	Name      string    `json:"name"`
	Settings  Settings  `json:"settings"`
	At        time.Time `json:"at"`      // when it was sampled, the earliest photo's time or that of entry
	By        string    `json:"by"`      // name of the account or link
	Version   int64     `json:"version"` // grows with each change
	Photos    []Photo   `json:"photos,omitempty"`

	Document *result.Document `json:"document,omitempty"` // newest, corrections applied; nil while nothing is measured
	Typed    []Typed          `json:"typed,omitempty"`
}

// States of a photo in the log.
const (
	Waiting   = "waiting"
	Measuring = "measuring"
	Measured  = result.Measured
	Refused   = result.Refused
	Failed    = "failed" // a fault of the program or machine; tried again on the next start or by hand
)

// Photo is an uploaded photo.
type Photo struct {
	ID         string    `json:"id"` // unguessable, 26 characters
	LoadID     int64     `json:"load_id"`
	File       string    `json:"file"` // its name on the phone, cleaned
	SHA256     string    `json:"sha256"`
	Bytes      int64     `json:"bytes"`
	UploadedAt time.Time `json:"uploaded_at"`
	By         string    `json:"by"`
	State      string    `json:"state"`
	Problem    string    `json:"problem,omitempty"` // why refused or failed, and what to do
	HasOverlay bool      `json:"has_overlay"`

	Result *result.Photo `json:"result,omitempty"` // newest measurement, without corrections
}

// Measurement is one measuring of a photo by one version of the program; older ones are kept.
type Measurement struct {
	ID      int64         `json:"id"`
	PhotoID string        `json:"photo_id"`
	Version string        `json:"version"`
	At      time.Time     `json:"at"`
	Photo   *result.Photo `json:"photo"`
}

// Correction is a class that a person gave to a piece.
type Correction struct {
	PhotoID string       `json:"photo_id"`
	ID      int          `json:"id"` // of the particle
	Class   result.Class `json:"class"`
	By      string       `json:"by"`
	At      time.Time    `json:"at"`
}

// Kinds of typed-in results.
const (
	TypedSieve = "sieve" // the text of a sieve file: sieve,mass_g
	TypedCup   = "cup"
	TypedLab   = "lab"
)

// Typed is a result that was entered by hand for a load.
type Typed struct {
	ID     int64             `json:"id"`
	LoadID int64             `json:"load_id"`
	Kind   string            `json:"kind"`
	Fields map[string]string `json:"fields"` // as entered
	By     string            `json:"by"`
	At     time.Time         `json:"at"`
}

// Change is an entry of the audit: who changed what.
type Change struct {
	ID     int64     `json:"id"`
	FarmID int64     `json:"farm_id"`
	At     time.Time `json:"at"`
	By     string    `json:"by"`
	What   string    `json:"what"`   // such as load.change, photo.delete, link.revoke
	Object string    `json:"object"` // such as load 12
	Detail string    `json:"detail"` // JSON of what changed
}
