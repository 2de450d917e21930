package words

import (
	"strings"
	"testing"

	"gristmark/internal/result"
)

func german(t *testing.T) *Words {
	t.Helper()
	w, err := For("de")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestFor(t *testing.T) {
	for lang, want := range map[string]string{"": "en", "C": "en", "C.UTF-8": "en", "POSIX": "en", "en": "en", "en_US.UTF-8": "en", "en-GB": "en",
		"de": "de", "de_DE.UTF-8": "de", "de-AT": "de", "de_CH@euro": "de"} {
		w, err := For(lang)
		if err != nil || w.Lang() != want {
			t.Errorf("For(%q): %v, %v; want %s", lang, w, err, want)
		}
	}
	for _, lang := range []string{"fr", "xx", "not a language", "de/../en"} {
		if _, err := For(lang); err == nil || !strings.Contains(err.Error(), "en or de") {
			t.Errorf("For(%q): %v; want the languages there are", lang, err)
		}
	}
}

func TestFromEnvironment(t *testing.T) {
	for _, c := range []struct {
		env  map[string]string
		want string
	}{
		{nil, "en"},
		{map[string]string{"LANG": "de_DE.UTF-8"}, "de"},
		{map[string]string{"LANG": "de_DE.UTF-8", "LC_MESSAGES": "en_GB.UTF-8"}, "en"},
		{map[string]string{"LANG": "en_GB.UTF-8", "LC_MESSAGES": "de_DE"}, "de"},
		{map[string]string{"LANG": "de_DE", "LC_MESSAGES": "de_DE", "LC_ALL": "C"}, "en"},
		{map[string]string{"LANG": "fr_FR.UTF-8"}, "en"},
		{map[string]string{"LC_ALL": "fr_FR.UTF-8", "LANG": "de_DE"}, "en"},
	} {
		if got := FromEnvironment(func(k string) string { return c.env[k] }).Lang(); got != c.want {
			t.Errorf("%v: %s, want %s", c.env, got, c.want)
		}
	}
}

func TestForHeader(t *testing.T) {
	for header, want := range map[string]string{"": "en", "de-DE,de;q=0.9,en;q=0.8": "de", "en-US,en;q=0.5": "en", "fr,de;q=0.3": "de", "ja": "en", ";;": "en"} {
		if got := ForHeader(header).Lang(); got != want {
			t.Errorf("%q: %s, want %s", header, got, want)
		}
	}
}

func TestNumbersInTheLanguagesForm(t *testing.T) {
	w := german(t)
	e := result.Estimate{Value: 10.24, Low: 9.61, High: 10.9}
	for _, c := range []struct{ got, want string }{
		{w.Number(3.4, 1), "3,4"},
		{w.Trimmed(3.40, 2), "3,4"},
		{w.Trimmed(-0.001, 2), "0"},
		{w.Signed(0.25, 2), "+0,25"},
		{w.Interval(e), "10,2 (9,6 bis 10,9)"},
		{w.T("%d photos", 1), "1 Foto"},
		{w.T("%d photos", 3), "3 Fotos"},
		{w.T("%d photos", 1200), "1.200 Fotos"},
		{(*Words)(nil).Interval(e), "10.2 (9.6 to 10.9)"},
		{(*Words)(nil).T("%d photos", 1), "1 photo"},
		{(*Words)(nil).T("%d photos", 2), "2 photos"},
		{(*Words)(nil).T("plain 5 %"), "plain 5 %"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// Exact by the definitions of inch, pound and quart.
func TestUnits(t *testing.T) {
	us := (*Words)(nil).With(US)
	deUS := german(t).With(US)
	for _, c := range []struct{ got, want string }{
		{us.Length(25.4), "1.00 in"},
		{us.Length(2.54), "0.10 in"},
		{us.Length(254), "10.0 in"},
		{us.Length(0.9), "0.035 in"},
		{deUS.Length(19), "0,75 in"},
		{us.Limit(19), "0.75"},
		{(*Words)(nil).Limit(19), "19"},
		{(*Words)(nil).Length(10.23), "10.2 mm"},
		{us.Mass(453.59237), "1.000 lb"},
		{(*Words)(nil).Mass(12), "12 g"},
		{us.Volume(0.946352946), "1 qt"},
		{us.Throughput(250), "276 short tons/h"},
		{german(t).Throughput(250.5), "250,5 t/h"},
		{us.Area(645.16), "1.000 in²"},
		{us.LengthInterval(result.Estimate{Value: 25.4, Low: 12.7, High: 50.8}), "1.00 (0.50 to 2.00)"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
	if _, err := ParseUnits("imperial"); err == nil {
		t.Error("imperial units were taken")
	}
}

func TestSayTurnsUnits(t *testing.T) {
	us := (*Words)(nil).With(US)
	for text, want := range map[string]string{
		"Close the roll gap from 2.5 to 2 mm.":                     "Close the roll gap from 0.098 to 0.079 in.",
		"26 to 30 mm is the usual length.":                         "1.0 to 1.2 in is the usual length.",
		"An estimated 61 % of the kernel mass would pass 4.75 mm.": "An estimated 61 % of the kernel mass would pass 4.75 mm.",
		"box of 19, 8 and 4 mm":                                    "box of 19, 8 and 4 mm",
		"the 19 mm box":                                            "the 19 mm box",
		"the kernel is 10.5 × 7.3 × 4.6 mm":                        "the kernel is 0.413 × 0.29 × 0.18 in",
		"At 250 t/h the mat is thick":                              "At 276 short tons/h the mat is thick",
		"hold the camera 40 cm above":                              "hold the camera 16 in above",
		"0.0577 mm/px":                                             "0.00227 in/px",
		"grain of 1.258 g/cm³ and 12 %":                            "grain of 1.258 g/cm³ and 12 %",
		"a cup of 0.946 l":                                         "a cup of 1.000 qt",
		"no figure":                                                "no figure",
	} {
		if got := us.Say(text); got != want {
			t.Errorf("%q\n got %q\nwant %q", text, got, want)
		}
	}
}
