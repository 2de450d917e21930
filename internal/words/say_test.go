package words

import (
	"strings"
	"testing"
)

func TestSayFindsSentencesAgain(t *testing.T) {
	w := german(t)
	for english, want := range map[string]string{
		"on target":                            "im Zielbereich",
		"Close the roll gap from 2.5 to 2 mm.": "Den Walzenspalt von 2,5 auf 2 mm verringern.",
		// a head, a reason that itself holds a semicolon, and what may stand in it
		"no ruler found: no card or mat in the photo; lay one flat beside the pieces, or name another ruler with --scale": "kein Maßstab gefunden: keine Maßkarte oder Matte im Foto; eine flach neben die Stücke legen, oder mit --scale einen anderen Maßstab nennen",
		// a file's name, and clauses joined
		"a/b.jpg: left out as a faint stain: 1; left out as the edge of tray or ruler: 25": "a/b.jpg: weggelassen als blasser Fleck: 1; weggelassen als Rand der Schale oder des Maßstabs: 25",
		// sentences joined, of which one is two
		"Stop the machine, switch it off, lock it out and wait until rolls and cutterhead stand still before a guard is opened. The manual and the dealer decide the settings. This rests on photos, not on a laboratory score.": "Maschine anhalten, abstellen, gegen Wiedereinschalten sichern und warten, bis Walzen und Messertrommel stillstehen, bevor eine Schutzhaube geöffnet wird. Über die Einstellungen entscheiden Betriebsanleitung und Händler. Das beruht auf Fotos, nicht auf einem Laborwert.",
		// evidence within a reason
		"The chop is too coarse (top box 12.5 %, target 3 to 8 %; pan 1 %, target at most 10 %); 19 mm is the usual length with a processor (trade press).": "Das Häckselgut ist zu grob (Obersieb 12,5 %, Ziel 3 bis 8 %; Boden 1 %, Ziel höchstens 10 %); 19 mm sind mit Körnerprozessor üblich (Fachpresse).",
		// what is not known stays, and its known part is said
		"an unheard-of thing":                   "an unheard-of thing",
		"an unheard-of thing; on target":        "an unheard-of thing; im Zielbereich",
		"the estimates from outlines are heard": "the estimates from outlines are heard",
		"":                                      "",
	} {
		if got := w.Say(english); got != want {
			t.Errorf("%q\n got %q\nwant %q", english, got, want)
		}
	}
	if long := strings.Repeat("a: b; c. D, ", 1<<17); w.Say(long) != long {
		t.Error("a text longer than any sentence is taken apart")
	}
	if w.Knows("an unheard-of thing") || !w.Knows("on target") {
		t.Error("what is known is told wrongly")
	}
	if got := (*Words)(nil).Say("on target: 12.5 %"); got != "on target: 12.5 %" {
		t.Errorf("English is changed to %q", got)
	}
	if got := w.With(US).Say("Close the roll gap from 2.5 to 2 mm."); got != "Den Walzenspalt von 0,098 auf 0,079 in verringern." {
		t.Errorf("%q", got)
	}
}

// Nothing that a sentence may hold makes it fail or hang: the text comes from documents that anyone may write.
func FuzzSay(f *testing.F) {
	f.Add("no ruler found: no card or mat in the photo; lay one")
	f.Add("a: b: c; d: e. F. %s {{.x}} 12.5 % ; ; ; : : :")
	w, err := For("de")
	if err != nil {
		f.Fatal(err)
	}
	w = w.With(US)
	f.Fuzz(func(t *testing.T, text string) { w.Say(text) })
}
