package scene

// Family is a named sort of photo with seeds to tune on and others to report on.
type Family struct {
	Name     string
	About    string
	Settings Settings
}

// Seeds to tune on and to report on never meet.
const (
	firstTuning    = 1_000_000
	firstReporting = 5_000_000_000
)

// TuningSeeds are n seeds that anything may be fitted on.
func (f Family) TuningSeeds(n int) []uint64 { return seedsFrom(firstTuning, f.Name, n) }

// ReportingSeeds are n seeds that nothing was fitted on.
func (f Family) ReportingSeeds(n int) []uint64 { return seedsFrom(firstReporting, f.Name, n) }

func seedsFrom(first uint64, name string, n int) []uint64 {
	h := uint64(0)
	for _, r := range name {
		h = h*31 + uint64(r)
	}
	out := make([]uint64, n)
	for i := range out {
		out[i] = first + h%1_000_003*1000 + uint64(i)
	}
	return out
}

// FamilyNamed finds a family.
func FamilyNamed(name string) (Family, bool) {
	for _, f := range Families() {
		if f.Name == name {
			return f, true
		}
	}
	return Family{}, false
}

func family(name, about string, change func(s *Settings)) Family {
	s := Default()
	s.Family = name
	change(&s)
	return Family{name, about, s}
}

func kernelsOnly(s *Settings) {
	s.Place.Kernels, s.Place.Pieces = Range{80, 160}, Range{0, 0}
}

func piecesOnly(s *Settings) {
	s.Place.Kernels, s.Place.Pieces = Range{0, 0}, Range{70, 130}
}

func wet(s *Settings) {
	s.Light.Wet, s.Tray.Gloss = Range{0.6, 1}, Range{0.02, 0.08}
}

func on(kinds ...string) func(s *Settings) {
	return func(s *Settings) { s.Tray.Kinds = kinds }
}

func all(changes ...func(s *Settings)) func(s *Settings) {
	return func(s *Settings) {
		for _, c := range changes {
			c(s)
		}
	}
}

func touching(lo, hi float64) func(s *Settings) {
	return func(s *Settings) { s.Place.TouchShare = Range{lo, hi} }
}

func crossing(lo, hi float64) func(s *Settings) {
	return func(s *Settings) { s.Place.CrossShare = Range{lo, hi} }
}

func stoverOf(m Mix) func(s *Settings) { return func(s *Settings) { s.Lot.Stover = m } }

func unusable(why string) func(s *Settings) {
	return func(s *Settings) { s.Usable, s.Note = false, why }
}

var anyTray = on("navy", "black", "white", "grey", "green", "blue", "red")

// Families lists every family, usable ones first.
func Families() []Family {
	return append(append(kernelFamilies(), pieceFamilies()...), append(photoFamilies(), unusableFamilies()...)...)
}

func kernelFamilies() []Family {
	return []Family{
		family("kernels-apart", "washed kernels, spread apart on plain trays", all(kernelsOnly, anyTray)),
		family("kernels-touching", "30 to 40 % of the kernels touch", all(kernelsOnly, anyTray, touching(0.3, 0.4))),
		family("kernels-touching-60", "60 % of the kernels touch", all(kernelsOnly, touching(0.6, 0.65))),
		family("kernels-wet", "wet with highlights", all(kernelsOnly, wet, touching(0, 0.15))),
		family("kernels-white-hybrid", "a white hybrid", all(kernelsOnly, func(s *Settings) { s.Lot.Hybrid = "white" })),
		family("kernels-red-hybrid", "a red hybrid", all(kernelsOnly, func(s *Settings) { s.Lot.Hybrid = "red" })),
		family("kernels-orange-hybrid", "a flinty orange hybrid", all(kernelsOnly, func(s *Settings) { s.Lot.Hybrid = "orange" })),
		family("kernels-dark-hybrid", "a hybrid from purple to blue-black", all(kernelsOnly, func(s *Settings) { s.Lot.Hybrid = "dark" })),
		family("kernels-mouldy", "mouldy grey kernels", all(kernelsOnly, func(s *Settings) { s.Lot.Mould = 0.7 })),
		family("kernels-nicked", "half of the kernels lost 1 to 10 %", all(kernelsOnly, func(s *Settings) {
			s.VaryLot, s.Lot.WholeShare, s.Lot.NickShare = false, 0.3, 0.5
		})),
		family("kernels-unbroken", "twenty unbroken kernels of one hybrid", func(s *Settings) {
			s.VaryLot, s.Lot.WholeShare, s.Lot.NickShare = false, 1, 0
			s.Place.Kernels, s.Place.Pieces = Range{18, 24}, Range{0, 0}
		}),
		family("kernels-12mp", "twelve megapixels", all(kernelsOnly, touching(0, 0.3), func(s *Settings) { s.WidthPx, s.HeightPx = 4032, 3024 })),
	}
}

func pieceFamilies() []Family {
	return []Family{
		family("straws-apart", "rind straws, apart", all(piecesOnly, stoverOf(Mix{Straw: 1}))),
		family("straws-crossing", "rind straws, many crossing", all(piecesOnly, stoverOf(Mix{Straw: 1}), crossing(0.35, 0.5))),
		family("leaf-scraps", "leaf", all(piecesOnly, stoverOf(Mix{Leaf: 1}))),
		family("cob-husk", "cob rings, cob chunks and husk", all(piecesOnly, stoverOf(Mix{Cob: 0.55, Husk: 0.45}), func(s *Settings) { s.Place.Pieces = Range{40, 70} })),
		family("pieces", "all sorts of stover", all(piecesOnly, anyTray, crossing(0, 0.08))),
		family("mixed", "kernels and stover", all(anyTray, touching(0, 0.15), crossing(0, 0.1))),
		family("mixed-touching", "kernels and stover, 30 % touching", all(touching(0.3, 0.4), crossing(0.1, 0.25))),
		family("mixed-dense", "a tray with much on it, cut by the frame", func(s *Settings) {
			s.Place.Kernels, s.Place.Pieces, s.Place.Spread, s.Place.GapMM = Range{160, 240}, Range{120, 180}, 1.25, 0.8
			s.Tray.WidthMM, s.Tray.HeightMM = Range{600, 700}, Range{500, 600}
		}),
	}
}

func photoFamilies() []Family {
	return []Family{
		family("tray-white", "a white tray", on("white")),
		family("tray-black", "a black tray", on("black")),
		family("tray-wood", "a wooden plank", on("wood")),
		family("tray-timber", "boards of any wood", on("timber")),
		family("tray-yellow", "a yellow tray", on("yellow")),
		family("tray-metal", "a galvanised tray", on("metal")),
		family("tray-bright", "red, green and blue trays", on("red", "green", "blue")),
		family("tray-odd", "paper, cloth and cardboard", on("paper", "cloth", "cardboard")),
		family("browned", "chop that turned brown in a clamp", all(anyTray, touching(0, 0.15), func(s *Settings) { s.Lot.Brown = 0.8 })),
		family("broad-shadow", "the shadow of person or phone lies across the tray", func(s *Settings) { s.Light.BroadShadow = 1 }),
		family("mat-a4", "on the printed mat", func(s *Settings) {
			s.Scale.Sheet, s.Camera.HeightMM = "mat-a4", Range{240, 330}
			s.Place.Kernels, s.Place.Pieces = Range{50, 90}, Range{20, 50}
		}),
		family("mat-a3", "on the large printed mat", func(s *Settings) {
			s.Scale.Sheet, s.Camera.HeightMM, s.WidthPx, s.HeightPx = "mat-a3", Range{320, 420}, 3000, 2250
			s.Tray.WidthMM, s.Tray.HeightMM = Range{500, 600}, Range{400, 450}
		}),
		family("two-lights", "two sources with hard shadows", all(kernelsOrMixed, func(s *Settings) {
			s.Light.Sources, s.Light.Softness, s.Light.Ambient = Range{2, 2}, Range{0.02, 0.12}, Range{0.12, 0.3}
			s.Light.ElevationDeg = Range{25, 50}
		})),
		family("hard-sun", "low sun, one hard shadow", func(s *Settings) {
			s.Light.Softness, s.Light.Ambient, s.Light.ElevationDeg = Range{0.02, 0.06}, Range{0.15, 0.3}, Range{22, 40}
		}),
		family("flash", "the phone's flash on a glossy tray", all(wet, func(s *Settings) {
			s.Light.Flash, s.Light.Ambient, s.Tray.Gloss = 1, Range{0.2, 0.4}, Range{0.05, 0.15}
			s.Light.Wet = Range{0.2, 0.6}
		})),
		family("low-light", "dusk: noise and a long exposure", func(s *Settings) {
			s.Photo.Noise, s.Photo.ExposureEV, s.Photo.MotionPx, s.Light.Kelvin = Range{5, 10}, Range{-1.3, -0.4}, Range{0, 2}, Range{2900, 4200}
		}),
		family("defocus", "out of focus, still countable", func(s *Settings) { s.Photo.DefocusPx = Range{1.8, 3.2} }),
		family("motion", "a shaky hand, still countable", func(s *Settings) { s.Photo.MotionPx = Range{2.5, 5} }),
		family("tilted", "tilt of 15 to 25 degrees", func(s *Settings) { s.Camera.TiltDeg = Range{15, 25} }),
		family("tele", "twice the focal length from higher up", func(s *Settings) {
			s.Camera.TeleShare, s.Camera.HeightMM = 1, Range{400, 600}
		}),
		family("barrel", "a lens with 3 to 6 % barrel", func(s *Settings) { s.Camera.BarrelPct = Range{-6, -3} }),
		family("soil-stones", "soil crumbs and bits of stone", func(s *Settings) { s.Extras.Crumbs, s.Extras.Stones = Range{15, 50}, Range{3, 10} }),
		family("fines", "a tray full of specks too small to count", func(s *Settings) { s.Tray.Fines = Range{0.2, 0.5} }),
		family("hair", "a hair or two", func(s *Settings) { s.Extras.Hairs = Range{1, 3} }),
		family("drops", "water drops", all(wet, func(s *Settings) { s.Extras.Drops = Range{20, 60} })),
		family("pen-finger", "a pen on the tray, a finger at the edge", func(s *Settings) { s.Extras.Pen, s.Extras.Finger = Range{1, 1}, Range{0, 1} }),
	}
}

func kernelsOrMixed(s *Settings) { s.Place.Kernels, s.Place.Pieces = Range{70, 120}, Range{0, 60} }

func unusableFamilies() []Family {
	return []Family{
		family("no-card", "no ruler in the photo", all(unusable("no scale under --scale auto"), func(s *Settings) { s.Scale.Sheet = "" })),
		family("heaped", "a heap", all(unusable("pieces lie on each other"), func(s *Settings) {
			s.Place.Heap, s.Place.Kernels, s.Place.Pieces = true, Range{350, 500}, Range{700, 1000}
			s.Camera.HeightMM = Range{200, 260}
		})),
		family("blurred", "far out of focus", all(unusable("too blurred"), func(s *Settings) { s.Photo.DefocusPx, s.Photo.MotionPx = Range{26, 40}, Range{0, 40} })),
		family("black", "nearly black", all(unusable("too dark"), func(s *Settings) { s.Photo.ExposureEV = Range{-9, -7} })),
		family("burnt", "burnt out", all(unusable("overexposed"), func(s *Settings) { s.Photo.ExposureEV = Range{4, 5} })),
	}
}
