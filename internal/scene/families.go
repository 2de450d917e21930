package scene

// Family is a named sort of photo with seeds to tune on and others to report on.
type Family struct {
	Name     string
	About    string
	Settings Settings
}

// Seeds to tune on and to report on never meet.
const (
	firstTuning    = 1000
	firstReporting = 500000
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
		out[i] = first + h%400*1000 + uint64(i)
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

// Families lists every family, usable ones first.
func Families() []Family {
	return []Family{
		family("kernels-apart", "washed kernels, spread apart", kernelsOnly),
		family("kernels-touching", "a third of the kernels touch", func(s *Settings) {
			kernelsOnly(s)
			s.Place.TouchShare = Range{0.3, 0.4}
		}),
		family("straws-apart", "rind straws, apart", func(s *Settings) {
			piecesOnly(s)
			s.Lot.Stover = Mix{Straw: 1}
		}),
		family("mixed", "kernels and stover", func(s *Settings) {
			s.Place.TouchShare, s.Place.CrossShare = Range{0, 0.15}, Range{0, 0.1}
		}),
	}
}
