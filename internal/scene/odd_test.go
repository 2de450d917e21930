package scene

import (
	"bytes"
	"math"
	"slices"
	"testing"
)

// HSV by its corners: hue 0 is red, 120 green, 240 blue, 60 and -300 yellow; without saturation all are grey.
func TestHued(t *testing.T) {
	for _, c := range []struct {
		deg, saturation, value float64
		want                   rgb
	}{
		{0, 1, 1, rgb{1, 0, 0}}, {120, 1, 1, rgb{0, 1, 0}}, {240, 1, 0.5, rgb{0, 0, 0.5}}, {60, 1, 1, rgb{1, 1, 0}}, {-300, 1, 1, rgb{1, 1, 0}},
		{77, 0, 0.3, rgb{0.3, 0.3, 0.3}}, {30, 0.5, 1, rgb{1, 0.75, 0.5}},
	} {
		got := hued(c.deg, c.saturation, c.value)
		for k := range got {
			if math.Abs(got[k]-c.want[k]) > 1e-9 {
				t.Errorf("hue %v saturation %v value %v is %v, want %v", c.deg, c.saturation, c.value, got, c.want)
				break
			}
		}
	}
}

// Odd scenes lie on each of their grounds, show kernels of skins of their own, and hold pieces.
func TestOddScenes(t *testing.T) {
	kinds := map[string]bool{}
	skins := 0
	for n := range uint64(60) {
		s := Odd(n).Settings
		kinds[s.Tray.Kinds[0]] = true
		if s.Lot.Hybrid == "other" {
			skins++
			if len(s.Lot.Skin) != 3 || slices.Min(s.Lot.Skin) < 0 || slices.Max(s.Lot.Skin) > 255 {
				t.Errorf("scene %d: skin %v", n, s.Lot.Skin)
			}
		}
	}
	for _, k := range []string{"any", "timber", "speckled", "ribbed", "sacking"} {
		if !kinds[k] {
			t.Errorf("no scene lies on the ground %q", k)
		}
	}
	if skins < 15 || skins > 45 {
		t.Errorf("%d of 60 scenes have a skin of their own, about half expected", skins)
	}
	sc := Odd(2)
	sc.Settings = sc.Settings.Resized(700)
	if p := sc.Draw(); len(p.Truth.Things) < 5 || p.Truth.Seed < firstOdd {
		t.Errorf("seed %d, %d things", p.Truth.Seed, len(p.Truth.Things))
	}
}

// A bare scene is the same photo without the lot's numbers.
func TestBareScenesShowTheSame(t *testing.T) {
	s := small(t, "browned")
	full, bare := Scene{Settings: s, Seed: 4}.Draw(), Scene{Settings: s, Seed: 4, Bare: true}.Draw()
	if !bytes.Equal(full.Image.Pix, bare.Image.Pix) || len(full.Truth.Things) != len(bare.Truth.Things) {
		t.Error("the photo changed")
	}
	if full.Truth.Lot.Kernels == nil || bare.Truth.Lot.Kernels != nil || bare.Truth.Lot.Pieces != nil {
		t.Error("the lot's numbers are missing from the full truth, or present in the bare one")
	}
}
