package main

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gristmark/internal/result"
)

// realPhoto is a photograph whose pieces were counted.
type realPhoto struct {
	Set, File string
	Folder    string
	Scale     string // what --scale is told
	Count     int    // pieces that lie there
	Tuning    bool   // the naming was fitted with it
}

// Folders of photographs, from the root of the repository.
const (
	sharedPhotos = "../shared/photos"
	skimageData  = "/usr/lib/python3/dist-packages/skimage/data"
)

// realPhotos are counted sets. The scale comes from what is in the photo, except where a plain number
// is stated: ten-beans' is from the colour card's nominal 76.2 mm (1298 px), the coins' is arbitrary
// (the counts alone are judged), sorghum-disc's is published with the photo.
func realPhotos() []realPhoto {
	beans, disc, ten := filepath.Join(sharedPhotos, "beans-on-letter"), filepath.Join(sharedPhotos, "sorghum-disc"), filepath.Join(sharedPhotos, "ten-beans")
	return []realPhoto{
		{"beans-on-letter", "IMG_8897.jpg", beans, "frame:190.5x254mm", 32, true},
		{"beans-on-letter", "IMG_9507.jpg", beans, "frame:190.5x254mm", 13, false},
		{"beans-on-letter", "IMG_9508.jpg", beans, "frame:190.5x254mm", 13, false},
		{"sorghum-disc", "sample_seeds.jpg", disc, "0.0997", 65, false},
		{"ten-beans", "beans_img.jpg", ten, "0.0587", 10, true},
		{"coins", "coins.png", skimageData, "0.2", 24, true},
	}
}

// realScore is what was found in one photograph.
type realScore struct {
	realPhoto
	Found  int
	ByName map[result.Class]int
	Scale  float64 // mm per px, NaN without
	Why    string  // of a refusal
}

// errorPct is found less true, % of true; a refusal misses everything.
func (r realScore) errorPct() float64 { return 100 * float64(r.Found-r.Count) / float64(r.Count) }

// measureReal measures the photographs that are there and names the sets that are not.
func measureReal(p program) (scores []realScore, absent []string) {
	for _, photo := range realPhotos() {
		path := filepath.Join(photo.Folder, photo.File)
		if _, err := os.Stat(path); err != nil {
			absent = append(absent, photo.Set+"/"+photo.File)
			continue
		}
		doc, _ := p.measure(path, "--show", "kernels", "--scale", photo.Scale)
		scores = append(scores, scoreReal(photo, doc.Photos[0]))
	}
	slices.SortStableFunc(scores, func(a, b realScore) int {
		return cmp.Compare(math.Abs(b.errorPct()), math.Abs(a.errorPct()))
	})
	return scores, absent
}

func scoreReal(photo realPhoto, got result.Photo) realScore {
	s := realScore{realPhoto: photo, ByName: map[result.Class]int{}, Scale: math.NaN()}
	if got.Scale != nil {
		s.Scale = got.Scale.MMPerPx
	}
	if got.Status != result.Measured {
		s.Why = "no reason given"
		if got.Problem != nil {
			s.Why = *got.Problem
		}
		return s
	}
	s.Found = len(got.Particles)
	for _, p := range got.Particles {
		s.ByName[p.Class]++
	}
	return s
}

func realTable(scores []realScore, absent []string) string {
	t := newTable("set, worst first", "part", "true", "found", "error %", "whole", "broken", "stover", "unsure", "mm per px")
	var reasons strings.Builder
	for _, s := range scores {
		part := "reporting"
		if s.Tuning {
			part = "tuning"
		}
		found := fmt.Sprint(s.Found)
		if s.Why != "" {
			found = "refused"
			fmt.Fprintf(&reasons, "\n- %s/%s refused: %s", s.Set, s.File, s.Why)
		}
		t.row(s.Set+"/"+s.File, part, fmt.Sprint(s.Count), found, signed(s.errorPct(), 1), fmt.Sprint(s.ByName[result.WholeKernel]),
			fmt.Sprint(s.ByName[result.BrokenKernel]), fmt.Sprint(s.ByName[result.Stover]), fmt.Sprint(s.ByName[result.Unsure]), number(s.Scale, 4))
	}
	text := t.String() + reasons.String()
	if len(absent) > 0 {
		text += "\n\nAbsent on this machine: " + strings.Join(absent, ", ") + "."
	}
	return text + "\n"
}
