package scene

import "testing"

func BenchmarkDraw(b *testing.B) {
	f, _ := FamilyNamed("mixed")
	s := f.Settings.Resized(2000)
	factsOf(s.Lot, true, true)
	for b.Loop() {
		if p := (Scene{Settings: s, Seed: 7}).Draw(); len(p.Truth.Things) < 20 {
			b.Fatal("the scene is nearly empty")
		}
	}
}
