package spoken

import "testing"

func TestJudge(t *testing.T) {
	for text, want := range map[string]string{"die Stücke glänzen": "", "die the Stücke": "the", "siehe gristmark lab fit pairs.csv": "", "Mittelwert\nof drei": "of", "passing_4_75_pct": ""} {
		if got := English(text); got != want {
			t.Errorf("English in %q: %q, want %q", text, got, want)
		}
	}
	for text, want := range map[string]string{"10.2 (9.6 to 10.9) mm": ") mm", "0.40 in": "", "through 4.75 mm": "", "box of 19, 8 and 4 mm": "", "12 g of": "12 g", "length, mm": ", mm", "1.258 g/cm³": "", "a cup of 0.946 l": "6 l"} {
		if got := Metric(text); (got == "") != (want == "") {
			t.Errorf("metric in %q: %q, want %q", text, got, want)
		}
	}
	if DecimalPoint("3,4 mm") != "" || DecimalPoint("3.4 mm") == "" {
		t.Error("decimal points are told wrongly")
	}
}
