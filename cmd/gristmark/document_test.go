package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"

	"github.com/rogpeppe/go-internal/testscript"

	"gristmark/internal/result"
)

// checkDocument holds a document against the contract and counts what it holds.
func checkDocument(data []byte) (map[string]int, error) {
	var doc result.Document
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&doc); err != nil {
		return nil, err
	}
	if dec.More() {
		return nil, fmt.Errorf("there is more than the document")
	}
	if doc.Schema != "gristmark.sample/1" {
		return nil, fmt.Errorf("schema %q", doc.Schema)
	}
	if err := roundTrip(doc); err != nil {
		return nil, err
	}
	facts := map[string]int{"photos": len(doc.Photos)}
	for _, p := range doc.Photos {
		if err := checkPhoto(p, facts); err != nil {
			return nil, fmt.Errorf("%s: %w", p.File, err)
		}
	}
	if s := doc.Sample; s != nil {
		facts["sample"] = 1
		facts["advice"] = len(s.Advice)
		if err := checkSample(s, facts); err != nil {
			return nil, err
		}
	}
	return facts, nil
}

func roundTrip(doc result.Document) error {
	data, err := json.Marshal(doc)
	if err != nil {
		return err
	}
	var again result.Document
	if err := json.Unmarshal(data, &again); err != nil {
		return err
	}
	if !reflect.DeepEqual(doc, again) {
		return fmt.Errorf("the document does not survive being read and written")
	}
	return nil
}

func checkPhoto(p result.Photo, facts map[string]int) error {
	facts[p.Status]++
	if p.DuplicateOf != "" {
		facts["duplicates"]++
	}
	if p.SameSpreadAs != "" {
		facts["spreads"]++
	}
	switch {
	case p.Particles == nil || p.Checks == nil:
		return fmt.Errorf("particles or checks are null")
	case p.Status == result.Refused && (p.Problem == nil || *p.Problem == "" || len(p.Particles) > 0):
		return fmt.Errorf("refused without a problem, or with particles")
	case p.Status == result.Measured && (p.Problem != nil || p.Scale == nil || p.SHA256 == ""):
		return fmt.Errorf("measured with a problem, or without scale or hash")
	}
	ids := map[int]bool{}
	for _, q := range p.Particles {
		facts["particles"]++
		facts[string(q.Class)]++
		if q.Reviewed {
			facts["reviewed"]++
		}
		if len(q.OutlinePx) > 0 {
			facts["outlines"]++
		}
		if ids[q.ID] || q.ID < 1 {
			return fmt.Errorf("particle id %d is there twice or is none", q.ID)
		}
		ids[q.ID] = true
		if err := checkParticle(q, p); err != nil {
			return fmt.Errorf("particle %d: %w", q.ID, err)
		}
	}
	return nil
}

func checkParticle(q result.Particle, p result.Photo) error {
	switch {
	case q.Probability < 0 || q.Probability > 1 || math.Abs(q.PWhole+q.PBroken+q.PStover-1) > 3e-4:
		return fmt.Errorf("probabilities %v, %v + %v + %v", q.Probability, q.PWhole, q.PBroken, q.PStover)
	case !(q.LengthMM > 0 && q.WidthMM > 0 && q.AreaMM2 > 0):
		return fmt.Errorf("size %v × %v mm, %v mm²", q.LengthMM, q.WidthMM, q.AreaMM2)
	case q.AtPx[0] < 0 || q.AtPx[1] < 0 || q.AtPx[0] > float64(p.WidthPx) || q.AtPx[1] > float64(p.HeightPx):
		return fmt.Errorf("it lies at %v, outside the photo", q.AtPx)
	case q.Class == result.Stover && q.KernelShare != nil:
		return fmt.Errorf("stover with a kernel share")
	case q.KernelShare != nil && (*q.KernelShare < 0 || *q.KernelShare > 1):
		return fmt.Errorf("kernel share %v", *q.KernelShare)
	}
	return nil
}

func checkSample(s *result.Sample, facts map[string]int) error {
	var list []*result.Estimate
	if k := s.Kernels; k != nil {
		facts["kernels_whole"], facts["kernels_broken"] = k.Whole, k.Broken
		list = append(list, k.WholePct, k.Passing475Pct)
	}
	if p := s.Pieces; p != nil {
		facts["pieces"] = p.N
		list = append(list, p.GeometricMeanMM)
		if b := p.BoxPct; b != nil {
			list = append(list, &b.Top, &b.Middle, &b.Lower, &b.Pan)
		}
		if c := p.LengthClassesPct; c != nil && math.Abs(c.Over19+c.From8+c.From4+c.Under4-100) > 0.01 {
			return fmt.Errorf("the length classes sum to %v", c.Over19+c.From8+c.From4+c.Under4)
		}
	}
	for _, e := range list {
		if e == nil {
			continue
		}
		facts["estimates"]++
		if !(e.Low <= e.Value && e.Value <= e.High && e.Level == 0.95) {
			return fmt.Errorf("estimate %v is not within its interval %v to %v at %v", e.Value, e.Low, e.High, e.Level)
		}
	}
	return nil
}

// cmdSameSample demands that two documents judge the same: samesample A B.
func cmdSameSample(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: samesample a b")
	}
	var a, b result.Document
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &a))
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[1])), &b))
	if a.Sample == nil || !reflect.DeepEqual(a.Sample.Kernels, b.Sample.Kernels) || !reflect.DeepEqual(a.Sample.Pieces, b.Sample.Pieces) {
		ts.Fatalf("the samples differ")
	}
}
