package report

import (
	"testing"

	"gristmark/internal/result"
	"gristmark/internal/words"
)

func TestSettingsText(t *testing.T) {
	dm, cut, gap, diff, hours, flow := 34.12, 19.0, 2.0, 40.0, 6.5, 150.0
	s := result.Settings{Load: "7", Field: "Long Acre", DMPct: &dm, TLOCMM: &cut, RollGapMM: &gap, SpeedDiffPct: &diff, KnifeHours: &hours, ThroughputTPH: &flow, Process: "conventional", State: "fresh", Note: "windy"}
	german, err := words.For("de")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		say  *words.Words
		want string
	}{
		{nil, "load 7, Long Acre, 34.1 % dry matter, length of cut 19 mm, roll gap 2 mm, roll speeds 40 % apart, knives sharpened 6.5 h ago, 150 t/h, conventional, fresh, windy"},
		{german, "Fuhre 7, Long Acre, 34,1 % Trockenmasse, Häcksellänge 19 mm, Walzenspalt 2 mm, Walzendrehzahlen 40 % auseinander, Messer vor 6,5 h geschärft, 150 t/h, herkömmlich aufbereitet, frisch, windy"},
	} {
		if got := SettingsText(s, c.say); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
	if got := SettingsText(result.Settings{}, nil); got != "" {
		t.Errorf("nothing told: %q", got)
	}
}
