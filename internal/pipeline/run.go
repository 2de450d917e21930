package pipeline

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"gristmark/internal/intake"
	"gristmark/internal/judge"
	"gristmark/internal/result"
)

// Stages are the parts that the pipeline joins.
type Stages struct {
	Version  string // of the program, for the document
	Measure  func(*intake.Intake, Options) (*Frame, error)
	Estimate func([]result.Photo, Options) result.Sample
}

// Run measures the photos of one sample. Photos at fault are refused in the document; the error is a
// fault of the program or the machine, or the context's.
func (s Stages) Run(ctx context.Context, files []string, opt Options) (*Outcome, error) {
	frames := make([]*Frame, len(files))
	err := parallel(ctx, len(files), opt.Workers, func(i int) error {
		var err error
		frames[i], err = s.Photo(files[i], opt)
		return err
	})
	if err != nil {
		return nil, err
	}
	return s.Sample(frames, opt), nil
}

// Photo reads and measures one photo file.
func (s Stages) Photo(file string, opt Options) (f *Frame, err error) {
	in, err := intake.Read(file)
	return s.measure(in, err, opt)
}

// PhotoBytes measures a photo that is already in memory, such as an upload.
func (s Stages) PhotoBytes(name string, data []byte, opt Options) (*Frame, error) {
	in, err := intake.FromBytes(name, data)
	return s.measure(in, err, opt)
}

func (s Stages) measure(in *intake.Intake, problem error, opt Options) (f *Frame, err error) {
	defer func() {
		if r := recover(); r != nil { // say with which photo
			f, err = nil, fmt.Errorf("pipeline: %s: a fault of the program: %v\n%s", in.File, r, debug.Stack())
		}
	}()
	var p intake.Problem
	switch {
	case errors.As(problem, &p):
		f = &Frame{}
		refuse(&f.Photo, string(p))
	case problem != nil:
		return nil, problem
	default:
		if f, err = s.Measure(in, opt); err != nil {
			return nil, fmt.Errorf("pipeline: %s: %w", in.File, err)
		}
	}
	describe(&f.Photo, in)
	return f, tidy(f)
}

// describe fills in what intake knows of the photo.
func describe(p *result.Photo, in *intake.Intake) {
	p.File, p.SHA256, p.WidthPx, p.HeightPx = in.File, in.SHA256, in.WidthPx, in.HeightPx
	if in.TakenAt != "" {
		p.TakenAt = &in.TakenAt
	}
}

// Sample judges measured photos as one sample. Duplicates and photos of one spread are marked here.
func (s Stages) Sample(frames []*Frame, opt Options) *Outcome {
	markDuplicates(frames)
	markSpreads(frames)
	o := &Outcome{Frames: frames, Document: result.Document{
		Schema: result.Schema, Version: s.Version, Show: opt.Show, Photos: []result.Photo{}, Assumed: opt.Assumed(),
	}}
	measured, notes := 0, []string(nil)
	for _, f := range frames {
		f.attach()
		if f.Photo.Status == result.Measured && f.Photo.DuplicateOf == "" {
			measured++
		}
		o.Document.Photos = append(o.Document.Photos, f.Photo)
		if len(f.Notes) > 0 {
			notes = append(notes, f.Photo.File+": "+strings.Join(f.Notes, "; "))
		}
	}
	if measured == 0 {
		return o
	}
	sample := s.Estimate(o.Document.Photos, opt)
	sample.Notes = append(sample.Notes, notes...)
	o.Uncorrected = judge.Finish(&sample, opt.Judging())
	o.Document.Sample = &sample
	return o
}

// markDuplicates marks the photos whose bytes came before.
func markDuplicates(frames []*Frame) {
	first := map[string]string{}
	for _, f := range frames {
		p := &f.Photo
		p.DuplicateOf = ""
		if p.SHA256 == "" || p.Status != result.Measured {
			continue
		}
		if file, seen := first[p.SHA256]; seen {
			p.DuplicateOf = file
			continue
		}
		first[p.SHA256] = p.File
	}
}
