package result

// States of a photo.
const (
	Measured = "measured"
	Refused  = "refused"
)

// Photo is one photo of a sample.
type Photo struct {
	File      string     `json:"file"`
	SHA256    string     `json:"sha256"`
	WidthPx   int        `json:"width_px"`
	HeightPx  int        `json:"height_px"`
	TakenAt   *string    `json:"taken_at"` // RFC 3339; with an offset only if EXIF has one
	Status    string     `json:"status"`   // Measured or Refused
	Problem   *string    `json:"problem"`  // what is wrong and what to do; nil when measured
	Scale     *Scale     `json:"scale"`
	Checks    []Check    `json:"checks"`
	Particles []Particle `json:"particles"`

	SameSpreadAs string  `json:"same_spread_as,omitempty"` // file of an earlier photo of the same spread: pooled with it
	DuplicateOf  string  `json:"duplicate_of,omitempty"`   // file of an earlier photo with the same bytes: counts for nothing
	Field        []XY    `json:"field_px,omitempty"`       // outline of the counted field in the photo, px
	FieldMM2     float64 `json:"field_mm2,omitempty"`      // its area on the tray plane
	White        *White  `json:"white,omitempty"`          // what kernels' colours are held against; nil: not looked for, or none in the photo
}

// Scale tells how millimetres were found.
type Scale struct {
	From       string  `json:"from"`        // card, mat, grid, rule, frame or given
	MMPerPx    float64 `json:"mm_per_px"`   // at the photo's centre, on the tray plane
	RelativeSD float64 `json:"relative_sd"` // of MMPerPx
	ResidualPx float64 `json:"residual_px"` // root mean square over the marks used
	TiltDeg    float64 `json:"tilt_deg"`    // between the optical axis and the tray's normal

	MarksUsed    int     `json:"marks_used,omitempty"`
	MarksDropped int     `json:"marks_dropped,omitempty"`
	CameraMM     float64 `json:"camera_mm,omitempty"`    // height of the camera above the tray plane
	CameraSDMM   float64 `json:"camera_sd_mm,omitempty"` // its standard deviation
	Note         string  `json:"note,omitempty"`
}

// White is what of a photo is taken as white.
type White struct {
	From string     `json:"from"` // paper: that of the card or mat; tray: a bright and nearly neutral tray
	SRGB [3]float64 `json:"srgb"` // its colour in the photo, 0..1
}

// Check is one test of whether the photo is good enough.
type Check struct {
	Name   string  `json:"name"`
	OK     bool    `json:"ok"`
	Value  float64 `json:"value"`
	Limit  float64 `json:"limit"`
	Unit   string  `json:"unit"`
	Advice string  `json:"advice"` // empty when OK

	Refuses bool `json:"refuses,omitempty"` // failing it makes the numbers meaningless

	RegionsPx [][]XY `json:"regions_px,omitempty"` // outlines, px, of the parts of the photo that it speaks of; none: of all
}
