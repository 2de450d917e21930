package scene

// Settings say what kind of photo to draw. Every Range is drawn from anew for each seed.
type Settings struct {
	Family   string `json:"family"`
	WidthPx  int    `json:"width_px"`
	HeightPx int    `json:"height_px"`
	Camera   Camera `json:"camera"`
	Tray     Tray   `json:"tray"`
	Light    Light  `json:"light"`
	Photo    Photo  `json:"photo"`
	Scale    Scale  `json:"scale"`
	Lot      Lot    `json:"lot"`
	VaryLot  bool   `json:"vary_lot"` // the seed picks one of four lots in place of the processing given
	Place    Place  `json:"place"`
	Extras   Extras `json:"extras"`
	Usable   bool   `json:"usable"` // a person could count it
	Note     string `json:"note,omitempty"`
}

// Camera is a phone held over the tray.
type Camera struct {
	HeightMM    Range   `json:"height_mm"`     // over the tray plane
	TiltDeg     Range   `json:"tilt_deg"`      // between optical axis and the tray's normal
	RollDeg     Range   `json:"roll_deg"`      // turn about the axis
	Focal35MM   Range   `json:"focal_35mm"`    // equivalent focal length
	TeleShare   float64 `json:"tele_share"`    // share of photos at twice the focal length
	BarrelPct   Range   `json:"barrel_pct"`    // radial displacement at the corner, percent; negative is barrel
	OffCentreMM Range   `json:"off_centre_mm"` // largest offset of the aim from the tray's middle
}

// Tray is what the pieces lie on and what lies round it.
type Tray struct {
	Kinds    []string `json:"kinds"`     // navy, black, white, grey, green, blue, red, yellow, wood, metal, paper, cloth, cardboard; those of Odd
	WidthMM  Range    `json:"width_mm"`  // inside, along x
	HeightMM Range    `json:"height_mm"` // inside, along y
	TurnDeg  Range    `json:"turn_deg"`
	Outside  []string `json:"outside"` // concrete, gravel, grass, table
	Fines    Range    `json:"fines"`   // chance of each of up to three specks in a square of 4 mm
	Texture  Range    `json:"texture"` // relative strength of the tray's texture
	Gloss    Range    `json:"gloss"`   // specular reflectance of the tray
}

// Light is the lighting.
type Light struct {
	Sources      Range   `json:"sources"`
	ElevationDeg Range   `json:"elevation_deg"`
	Softness     Range   `json:"softness"`     // width of the half-shadow per mm of drop
	Ambient      Range   `json:"ambient"`      // share of the light that comes from everywhere
	Gradient     Range   `json:"gradient"`     // relative change of light across half the photo
	Kelvin       Range   `json:"kelvin"`       // of the main source, against a 5500 K balance
	BroadShadow  float64 `json:"broad_shadow"` // chance of the shadow of person or phone across the view
	Flash        float64 `json:"flash"`        // chance of the phone's flash
	Wet          Range   `json:"wet"`          // 0 dry, 1 dripping
}

// Photo is what the camera makes of the light.
type Photo struct {
	ExposureEV Range `json:"exposure_ev"` // off the automatic exposure
	Noise      Range `json:"noise"`       // 1 is a good phone in daylight
	DefocusPx  Range `json:"defocus_px"`  // radius of the disc
	MotionPx   Range `json:"motion_px"`   // length of the smear
	Vignette   Range `json:"vignette"`    // loss of light in the corners
	Sharpen    Range `json:"sharpen"`
	Quality    Range `json:"quality"`    // of the JPEG
	Saturation Range `json:"saturation"` // of the camera's rendering, 1 is neutral
	Contrast   Range `json:"contrast"`   // of the tone curve
	Balance    Range `json:"balance"`    // relative error of the white balance
}

// Scale is the printed ruler in the photo.
type Scale struct {
	Sheet      string `json:"sheet"`       // card, mat-a4, mat-a3 or empty
	PrintScale Range  `json:"print_scale"` // printed size over nominal
}

// Lot is the population of pieces that a scene is drawn from.
type Lot struct {
	Hybrid      string    `json:"hybrid"`         // yellow, orange, red, white, dark, mixed or other
	Skin        []float64 `json:"skin,omitempty"` // red, green and blue 0..255 of the kernels of the other
	LengthMM    float64   `json:"kernel_length_mm"`
	WidthMM     float64   `json:"kernel_width_mm"`
	ThicknessMM float64   `json:"kernel_thickness_mm"`
	LengthSD    float64   `json:"kernel_length_sd_mm"`
	WidthSD     float64   `json:"kernel_width_sd_mm"`
	ThicknessSD float64   `json:"kernel_thickness_sd_mm"`
	WholeShare  float64   `json:"whole_share"`     // of kernel pieces, by number
	NickShare   float64   `json:"nick_share"`      // of kernel pieces that lost only 1 to 10 %
	ShareMedian float64   `json:"share_median"`    // median kernel_share of the other fragments
	ShareGSD    float64   `json:"share_gsd"`       // its geometric standard deviation
	Mould       float64   `json:"mould"`           // 0 sound, 1 grey all over
	RollGapMM   float64   `json:"roll_gap_mm"`     // for the record
	CutMM       float64   `json:"tloc_mm"`         // theoretical length of cut
	CutGSD      float64   `json:"length_gsd"`      // spread of length about it
	LongTail    float64   `json:"long_tail"`       // share of stover that slipped through lengthwise
	Stover      Mix       `json:"stover"`          // by number
	Green       float64   `json:"green"`           // 0 dry and brown, 1 fresh green
	Brown       float64   `json:"brown,omitempty"` // 0 fresh, 1 as brown as a clamp makes it
	PieceMinMM  float64   `json:"piece_min_mm"`    // smallest stover drawn
	KernelMinMM float64   `json:"fragment_min_mm"` // smallest kernel fragment drawn, largest Feret
}

// Mix weights the kinds of stover.
type Mix struct {
	Straw float64 `json:"straw"`
	Stalk float64 `json:"stalk"`
	Leaf  float64 `json:"leaf"`
	Husk  float64 `json:"husk"`
	Cob   float64 `json:"cob"`
}

// Place says how many pieces lie on the tray and how.
type Place struct {
	Kernels    Range   `json:"kernels"`
	Pieces     Range   `json:"pieces"`
	GapMM      float64 `json:"gap_mm"`      // smallest distance of pieces that lie apart
	TouchShare Range   `json:"touch_share"` // of kernel pieces laid against another
	CrossShare Range   `json:"cross_share"` // of stover laid across another
	Heap       bool    `json:"heap"`        // thrown on each other
	MarginMM   float64 `json:"margin_mm"`   // kept free along the tray's rim
	Spread     float64 `json:"spread"`      // share of the view that is strewn; above 1 pieces are cut by the frame
}

// Extras are things that are neither kernel nor stover: count ranges.
type Extras struct {
	Pen    Range `json:"pen"`
	Crumbs Range `json:"crumbs"`
	Stones Range `json:"stones"`
	Hairs  Range `json:"hairs"`
	Drops  Range `json:"drops"`
	Finger Range `json:"finger"`
}

// DefaultLot is a yellow dent at a roll gap of 2 mm and 19 mm length of cut. Kernel size after Sezer et al.
// (Afr. J. Biotechnol.), 10.54 × 7.26 × 4.57 mm; spreads from memory.
func DefaultLot() Lot {
	return Lot{Hybrid: "yellow", LengthMM: 10.54, WidthMM: 7.26, ThicknessMM: 4.57, LengthSD: 1.0, WidthSD: 0.75, ThicknessSD: 0.7,
		WholeShare: 0.05, NickShare: 0.03, ShareMedian: 0.2, ShareGSD: 1.7, RollGapMM: 2, CutMM: 17, CutGSD: 1.75, LongTail: 0.02,
		Stover: Mix{Straw: 0.44, Stalk: 0.17, Leaf: 0.24, Husk: 0.09, Cob: 0.06}, Green: 0.6, PieceMinMM: 2, KernelMinMM: 1.0}
}

// Default settings: a daylight photo of a spread sample with the card.
func Default() Settings {
	return Settings{
		Family: "default", WidthPx: 2400, HeightPx: 1800, Usable: true, VaryLot: true,
		Camera: Camera{HeightMM: Range{210, 330}, TiltDeg: Range{0, 12}, RollDeg: Range{-180, 180}, Focal35MM: Range{24, 28},
			BarrelPct: Range{-0.6, 0.6}, OffCentreMM: Range{0, 12}},
		Tray: Tray{Kinds: []string{"navy", "black", "grey", "blue", "green"}, WidthMM: Range{330, 420}, HeightMM: Range{250, 320}, TurnDeg: Range{-12, 12},
			Outside: []string{"concrete", "concrete", "gravel", "grass", "table"}, Texture: Range{0.5, 1.5}, Fines: Range{0, 0.06}, Gloss: Range{0, 0.03}},
		Light: Light{Sources: Range{1, 1}, ElevationDeg: Range{35, 70}, Softness: Range{0.2, 0.9}, Ambient: Range{0.35, 0.6}, Gradient: Range{0, 0.25},
			Kelvin: Range{4500, 6800}, Wet: Range{0, 0.4}, BroadShadow: 0.15},
		Photo: Photo{ExposureEV: Range{-0.3, 0.3}, Noise: Range{0.5, 1.5}, DefocusPx: Range{0, 0.6}, Vignette: Range{0, 0.25}, Sharpen: Range{0.2, 0.8},
			Quality: Range{86, 95}, Balance: Range{-0.06, 0.06}, Saturation: Range{0.85, 1.2}, Contrast: Range{0, 0.06}},
		Scale: Scale{Sheet: "card", PrintScale: Range{1, 1}},
		Lot:   DefaultLot(),
		Place: Place{Kernels: Range{60, 110}, Pieces: Range{40, 80}, GapMM: 1.2, MarginMM: 4, Spread: 0.94},
	}
}

// variant is one of four harvesters' work on this crop, by seed: from barely cracked to finely processed, short cut to long.
func (l Lot) variant(seed uint64) Lot {
	i := (seed * 2654435761 >> 7) % 4
	size := [4][3]float64{{10.54, 7.26, 4.57}, {9.6, 7.0, 4.4}, {11.3, 7.9, 4.7}, {10.8, 6.89, 4.81}}[i]
	l.LengthMM, l.WidthMM, l.ThicknessMM = size[0], size[1], size[2]
	l.WholeShare = [4]float64{0.015, 0.003, 0.08, 0.3}[i]
	l.NickShare = [4]float64{0.012, 0.004, 0.04, 0.08}[i]
	l.ShareMedian = [4]float64{0.17, 0.12, 0.22, 0.36}[i]
	l.ShareGSD = [4]float64{1.6, 1.6, 1.7, 1.8}[i]
	l.RollGapMM = [4]float64{2, 1, 3, 5}[i]
	l.CutMM = [4]float64{17, 11, 22, 28}[i]
	l.Green = [4]float64{0.6, 0.8, 0.4, 0.15}[i]
	return l
}
