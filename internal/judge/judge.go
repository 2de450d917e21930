package judge

import (
	"slices"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/estimate"
	"gristmark/internal/kernel"
	"gristmark/internal/kernels"
	"gristmark/internal/lab"
	"gristmark/internal/result"
)

// Options tell how a sample is judged.
type Options struct {
	Show       string          // kernels, pieces or mixed; empty: mixed
	Kernel     kernel.Unbroken // of this crop; zero: the default kernel
	Stored     *kernels.Stored // that Kernel was taken from; nil: none
	Context    advice.Context
	Targets    advice.TargetSet
	Correction *lab.Correction // to the laboratory, applied before judging; nil: none
}

// Sample estimates and judges the measured photos, and sets the kernel shares of their particles, which depend on the lot. It is nil
// where no photo was measured. The error says why the correction asked for was refused; the sample then stands as from outlines.
func Sample(photos []result.Photo, opt Options) (sample *result.Sample, uncorrected error) {
	s := Estimate(photos, opt)
	if s == nil {
		return nil, nil
	}
	uncorrected = Finish(s, opt)
	return s, uncorrected
}

// Estimate is the sample's numbers without correction, verdict or advice; nil where no photo was measured.
func Estimate(photos []result.Photo, opt Options) *result.Sample {
	if !slices.ContainsFunc(photos, func(p result.Photo) bool { return p.Status == result.Measured && p.DuplicateOf == "" }) {
		return nil
	}
	o := estimate.Options{Show: opt.Show, Kernel: opt.Kernel}
	estimate.Shares(photos, o)
	s := estimate.Sample(photos, o)
	if opt.Stored != nil && s != nil && opt.Show != estimate.ShowPieces {
		s.Notes = append(s.Notes, opt.Stored.Doubts(photos)...)
	}
	return s
}

// Finish corrects, judges and rounds an estimated sample. The error is that of [Sample].
func Finish(s *result.Sample, opt Options) error {
	s.State = opt.Context.State
	uncorrected := correct(s, opt)
	s.Verdict, s.Advice = advice.Judge(s, opt.Context, opt.Targets)
	tidy(s)
	return uncorrected
}

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
