package pipeline

import (
	"strings"

	"gristmark/internal/result"
)

// correct applies the correction of the options to a sample. Where it speaks not of the sample, the sample is left as from outlines, a
// note says why, and so does the error; a sample without a passing share has nothing to correct and is no fault.
func correct(s *result.Sample, opt Options) error {
	if opt.Correction == nil {
		return nil
	}
	if s.Kernels == nil || s.Kernels.Passing475Pct == nil {
		s.Notes = append(s.Notes, "there is no passing share for the correction "+opt.Correction.Name+" to correct")
		return nil
	}
	err := opt.Correction.Apply(s, opt.Context.State)
	if err != nil {
		s.Notes = append(s.Notes, "not corrected: "+strings.TrimPrefix(err.Error(), "lab: "))
	}
	return err
}
