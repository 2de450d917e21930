package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"time"

	"gristmark/internal/advice"
	"gristmark/internal/estimate"
	"gristmark/internal/harvest"
	"gristmark/internal/judge"
	"gristmark/internal/pipeline"
	"gristmark/internal/result"
)

// mostTime is how long one photo may take to measure; a photo of 120 megapixels on a slow machine takes a minute or two.
const mostTime = 5 * time.Minute

// measurer measures photos for the log, each in a process of its own: a photo that crashes the decoder or takes all memory ends that
// process and not the server, and its memory is given back at once.
type measurer struct {
	program string // this program's file
	turns   chan struct{}
	stages  pipeline.Stages
}

// newMeasurer measures at most so many photos at a time.
func newMeasurer(atOnce int) (*measurer, error) {
	program, err := os.Executable()
	if err != nil {
		return nil, fmt.Errorf("the program does not find itself, to measure in a process of its own: %w", err)
	}
	return &measurer{program, make(chan struct{}, max(1, atOnce)), pipeline.Default(programVersion())}, nil
}

// Version is the program's.
func (m *measurer) Version() string { return programVersion() }

// Apart tells the log that no photo can end this process.
func (m *measurer) Apart() bool { return true }

// measureRequest is what the process that measures reads first, a line of JSON; the photo follows.
type measureRequest struct {
	Name     string           `json:"name"`
	Settings harvest.Settings `json:"settings"`
}

// measureAnswer is what it prints.
type measureAnswer struct {
	Frame   *pipeline.Frame `json:"frame"`
	Overlay []byte          `json:"overlay"` // JPEG
}

// MeasurePhoto measures one photo. A photo at fault is refused in its record; the error is a fault of the program or the machine.
func (m *measurer) MeasurePhoto(ctx context.Context, name string, data []byte, s harvest.Settings) (result.Photo, []byte, []byte, error) {
	var none result.Photo
	select {
	case m.turns <- struct{}{}:
		defer func() { <-m.turns }()
	case <-ctx.Done():
		return none, nil, nil, ctx.Err()
	}
	answer, err := m.inChild(ctx, measureRequest{name, s}, data)
	if err != nil {
		return none, nil, nil, err
	}
	keep, err := keepFrame(answer.Frame)
	return answer.Frame.Photo, answer.Overlay, keep, err
}

func (m *measurer) inChild(ctx context.Context, request measureRequest, data []byte) (*measureAnswer, error) {
	runtime.LockOSThread() // the child ends with the thread that started it, see childOptions
	defer runtime.UnlockOSThread()
	limited, cancel := context.WithTimeout(ctx, mostTime)
	defer cancel()
	line, err := json.Marshal(request)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	faults := &tail{}
	cmd := exec.CommandContext(limited, m.program, measureChild)
	cmd.Stdin = io.MultiReader(bytes.NewReader(append(line, '\n')), bytes.NewReader(data))
	cmd.Stdout, cmd.Stderr = &out, faults
	childOptions(cmd)
	if err := cmd.Run(); err != nil {
		return nil, childFault(ctx, limited, err, faults.String())
	}
	answer := &measureAnswer{}
	err = json.Unmarshal(out.Bytes(), answer)
	if err == nil && answer.Frame == nil {
		err = errors.New("it holds no photo")
	}
	if err != nil {
		return nil, fmt.Errorf("what the process that measures said cannot be read: %w", err)
	}
	return answer, nil
}

// childFault says why the process that measures came to nothing.
func childFault(ctx, limited context.Context, err error, said string) error {
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case limited.Err() != nil:
		return fmt.Errorf("measuring took longer than %s and was given up; send a smaller photo", mostTime)
	case errors.As(err, &exit) && exit.ExitCode() < 0:
		return fmt.Errorf("measuring ended in a crash or for want of memory (%v); the photo is kept, send a smaller one beside it", err)
	}
	return fmt.Errorf("measuring failed (%v): %s", err, strings.TrimSpace(said))
}

// tail keeps the last of what is written to it.
type tail struct{ b []byte }

func (t *tail) Write(p []byte) (int, error) {
	const most = 2000
	t.b = append(t.b, p...)
	if len(t.b) > most {
		t.b = append([]byte(nil), t.b[len(t.b)-most:]...)
	}
	return len(p), nil
}

func (t *tail) String() string { return string(t.b) }

// keepFrame is what the log keeps beside a photo's record, to judge it again without the photo.
func keepFrame(f *pipeline.Frame) ([]byte, error) {
	slim := *f
	slim.Photo = result.Photo{} // the log has it
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	err := errors.Join(json.NewEncoder(z).Encode(&slim), z.Close())
	return b.Bytes(), err
}

func keptFrame(photo result.Photo, keep []byte) (*pipeline.Frame, error) {
	f := &pipeline.Frame{}
	if len(keep) > 0 {
		z, err := gzip.NewReader(bytes.NewReader(keep))
		if err == nil {
			err = json.NewDecoder(z).Decode(f)
		}
		if err != nil {
			return nil, fmt.Errorf("what was kept of the photo %s cannot be read: %w", photo.File, err)
		}
	}
	photo.Particles = append([]result.Particle(nil), photo.Particles...) // judging writes into them
	f.Photo = photo
	return f, nil
}

// Judge makes the document of a load's measured photos.
func (m *measurer) Judge(_ context.Context, photos []result.Photo, keeps [][]byte, s harvest.Settings, targets string, corrections []harvest.Correction) (result.Document, error) {
	opt, doubts := settingsOptions(s, targets)
	frames := make([]*pipeline.Frame, len(photos))
	for i, p := range photos {
		var keep []byte
		if i < len(keeps) {
			keep = keeps[i]
		}
		var err error
		if frames[i], err = keptFrame(p, keep); err != nil {
			return result.Document{}, err
		}
	}
	doc := m.stages.Sample(frames, opt).Document
	told := toldSettings(s)
	if doc.Settings = &told; told.IsZero() {
		doc.Settings = nil
	}
	list, left := fittingCorrections(doc.Photos, corrections)
	if len(list) > 0 {
		reviewed, _, err := judge.Review(doc, list, opt.Judging())
		if err != nil {
			return result.Document{}, fmt.Errorf("the corrections cannot be applied: %w", err)
		}
		doc = reviewed
	}
	if left > 0 {
		doubts = append(doubts, fmt.Sprintf("%d correction(s) speak of pieces that the newest measurement does not have; they are kept and not applied", left))
	}
	if doc.Sample != nil {
		doc.Sample.Notes = append(doc.Sample.Notes, doubts...)
	}
	return doc, nil
}

// fittingCorrections are those that speak of a piece that is there; left counts the others.
func fittingCorrections(photos []result.Photo, corrections []harvest.Correction) (list []estimate.Correction, left int) {
	there := map[string]map[int]bool{}
	for _, p := range photos {
		if p.Status != result.Measured || p.DuplicateOf != "" {
			continue
		}
		there[p.File] = map[int]bool{}
		for _, q := range p.Particles {
			there[p.File][q.ID] = true
		}
	}
	for _, c := range corrections {
		if !there[c.PhotoID][c.ID] {
			left++
			continue
		}
		delete(there[c.PhotoID], c.ID) // each piece once
		list = append(list, estimate.Correction{Photo: c.PhotoID, ID: c.ID, Class: c.Class})
	}
	return list, left
}

// settingsOptions are the pipeline's options for a load. What cannot be used is left out and said in doubts.
func settingsOptions(s harvest.Settings, targets string) (opt pipeline.Options, doubts []string) {
	opt = pipeline.DefaultOptions()
	opt.Picture = true
	if s.Show != "" {
		opt.Show = s.Show
	}
	if s.Scale != "" {
		opt.Scale = s.Scale
	}
	if kernel, err := kernelOption(s.Kernel); err == nil {
		opt.Kernel = kernel
	} else {
		doubts = append(doubts, "the kernel of this crop was not used: "+err.Error())
	}
	opt.Context = advice.Context{Process: s.Process, State: s.State, DMPct: s.DMPct, TLOCMM: s.TLOCMM, RollGapMM: s.RollGapMM}
	if err := opt.Context.Validate(); err != nil {
		doubts = append(doubts, "the settings were not used: "+strings.TrimPrefix(err.Error(), "advice: "))
		opt.Context = advice.Context{}
	}
	set, err := targetOption("", opt.Context.Process)
	if targets != "" {
		set, err = advice.Targets().Find(targets)
	}
	if err != nil {
		doubts = append(doubts, "judged by the default targets: "+strings.TrimPrefix(err.Error(), "advice: "))
		set = advice.DefaultSet()
	}
	opt.Targets = set
	return opt, doubts
}

// toldSettings are the settings as the measurement document has them.
func toldSettings(s harvest.Settings) result.Settings {
	return result.Settings{
		Field: s.Field, Hybrid: s.Hybrid, Process: s.Process, State: s.State,
		DMPct: s.DMPct, TLOCMM: s.TLOCMM, RollGapMM: s.RollGapMM, Note: s.Note,
	}
}
