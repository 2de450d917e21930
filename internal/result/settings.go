package result

// Settings are what was told of a load: where it grew, how dry it was, how the machine was set. Empty and nil: not told.
type Settings struct {
	Load    string `json:"load,omitempty"`     // its name or number
	TakenAt string `json:"taken_at,omitempty"` // RFC 3339 or a date, as told
	Farm    string `json:"farm,omitempty"`
	Field   string `json:"field,omitempty"`
	Hybrid  string `json:"hybrid,omitempty"`

	Process string `json:"process,omitempty"` // conventional, shredding or unprocessed
	State   string `json:"state,omitempty"`   // of the crop: fresh or fermented

	DMPct         *float64 `json:"dm_pct,omitempty"`         // dry matter of the crop, %
	TLOCMM        *float64 `json:"tloc_mm,omitempty"`        // theoretical length of cut, mm
	RollGapMM     *float64 `json:"roll_gap_mm,omitempty"`    // distance between the processor's rolls, mm
	SpeedDiffPct  *float64 `json:"speed_diff_pct,omitempty"` // speed difference between the rolls, %
	KnifeHours    *float64 `json:"knife_hours,omitempty"`    // hours of cutting since the knives were sharpened
	ThroughputTPH *float64 `json:"throughput_tph,omitempty"` // tonnes of fresh chop per hour

	Note string `json:"note,omitempty"`
}

// Over returns s with what it leaves untold taken from base.
func (s Settings) Over(base Settings) Settings {
	words, under := s.words(), base.words()
	for i, w := range words {
		if *w == "" {
			*w = *under[i]
		}
	}
	numbers, below := s.numbers(), base.numbers()
	for i, n := range numbers {
		if *n == nil {
			*n = *below[i]
		}
	}
	return s
}

// IsZero reports whether nothing was told.
func (s Settings) IsZero() bool { return s == Settings{} }

func (s *Settings) words() []*string {
	return []*string{&s.Load, &s.TakenAt, &s.Farm, &s.Field, &s.Hybrid, &s.Process, &s.State, &s.Note}
}

func (s *Settings) numbers() []**float64 {
	return []**float64{&s.DMPct, &s.TLOCMM, &s.RollGapMM, &s.SpeedDiffPct, &s.KnifeHours, &s.ThroughputTPH}
}
