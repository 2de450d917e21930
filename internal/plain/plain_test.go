package plain

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// Whatever the text, no line is longer than the terminal unless it is one long word, and no word is lost.
func TestHangKeepsTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		head := strings.Repeat("-", rapid.IntRange(0, 20).Draw(t, "head"))
		words := rapid.SliceOf(rapid.StringMatching(`[a-zµ%]{1,30}`)).Draw(t, "words")
		got := Hang(head, strings.Join(words, "  "))
		for _, line := range strings.Split(got, "\n") {
			if utf8.RuneCountInString(line) > Columns {
				t.Fatalf("%d columns: %q", utf8.RuneCountInString(line), line)
			}
		}
		back := strings.Fields(strings.TrimPrefix(got, head))
		if strings.Join(back, " ") != strings.Join(words, " ") {
			t.Fatalf("words lost: %q", got)
		}
	})
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v    float64
		d    int
		want string
	}{{12.50, 1, "12.5"}, {12.04, 1, "12"}, {-0.001, 1, "0"}, {1234567, 0, "1234567"}, {0.126, 2, "0.13"}} {
		if got := Number(c.v, c.d); got != c.want {
			t.Errorf("%g: %q, want %q", c.v, got, c.want)
		}
	}
	if Upper("élan") != "Élan" || Upper("") != "" || Right("µ", 3) != "  µ" || Left("µ", 3) != "µ  " {
		t.Error("padding or capitals")
	}
}

// A number and its unit stand on one line; the word "in" behind another word is none.
func TestHangKeepsUnits(t *testing.T) {
	text := strings.TrimRight(Hang("", strings.Repeat("x", 74)+" 0.75 in of"), "\n")
	if want := strings.Repeat("x", 74) + "\n0.75 in of"; text != want {
		t.Errorf("%q", text)
	}
	text = strings.TrimRight(Hang("", strings.Repeat("x", 76)+" a in b"), "\n")
	if want := strings.Repeat("x", 76) + " a\nin b"; text != want {
		t.Errorf("%q", text)
	}
}
