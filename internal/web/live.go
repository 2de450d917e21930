package web

import (
	"fmt"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/harvest"
	"gristmark/internal/result"
)

// liveView is the part of a load's page that changes while photos are measured.
type liveView struct {
	Busy     bool
	Measured bool
	State    string // what is going on; empty: nothing
	Fault    string
	Again    bool // who asks may have the photos that failed measured again
	Load     int64
	Verdicts []verdictView
	Advice   []result.Advice
	Photos   []photoView
	Tables   []tableView
	Notes    []string
	Assumed  []string
}

// photoView is one photo with what its checks say.
type photoView struct {
	ID, File, Class, Icon, Word string
	Thumb, Alt                  string
	Pieces                      bool
	Counted                     string
	Problem                     string
	Warnings                    []string
	Checks                      []checkView
	ChecksWord                  string
	MayDrop                     bool
}

type checkView struct {
	OK   bool
	Text string
}

// live makes the view of a load; may tells whether who asks may take photos away.
func (c *call) live(l harvest.Load, set advice.TargetSet, may bool) liveView {
	v := liveView{Load: l.ID}
	left, failed, measured := 0, 0, 0
	for _, p := range l.Photos {
		switch p.State {
		case harvest.Waiting, harvest.Measuring:
			left++
		case harvest.Failed:
			failed++
		case harvest.Measured:
			measured++
		}
		v.Photos = append(v.Photos, c.photoView(p, may))
	}
	if left > 0 {
		v.Busy, v.State = true, c.t("Measuring: %d of %d photos to go", left, len(l.Photos))
	}
	if left == 0 && measured > 0 && l.Document == nil {
		v.Busy, v.State = true, c.t("Measured; the judgement is being made")
	}
	if failed > 0 {
		v.Again = may
		v.Fault = c.t("The program failed at a photo; it is kept and tried again. Nothing is lost.")
	}
	if l.Document == nil || l.Document.Sample == nil {
		return v
	}
	s := l.Document.Sample
	v.Measured = true
	v.Verdicts = c.verdicts(s, set, l.Settings.TLOCMM)
	for _, a := range s.Advice {
		v.Advice = append(v.Advice, c.advice(a))
	}
	v.Tables = c.numberTables(s)
	for _, n := range s.Notes {
		v.Notes = append(v.Notes, c.named(l, n))
	}
	for _, a := range l.Document.Assumed {
		v.Assumed = append(v.Assumed, c.sentenceOf(a))
	}
	return v
}

// byCommand are the words that speak of the command line, and what the pages have in its place.
var byCommand = strings.NewReplacer("with gristmark compare", "with Compare, on the page of the harvest", "The interval must get narrower; gristmark plan says how many handfuls it takes.", "The interval must get narrower.",
	"mit gristmark compare", "mit Vergleichen auf der Seite der Ernte", "Das Intervall muss enger werden; gristmark plan sagt, wie viele Handvoll es braucht.", "Das Intervall muss enger werden.",
	"or name another ruler with --scale", "or tell another scale in the load's settings", "--kernel tells this crop's", "the load's settings tell this crop's",
	"--state fermented tells otherwise", "the load's settings tell otherwise", "--show kernels or --show pieces tells otherwise", "the load's settings tell otherwise",
	"use --scale grid with the pattern's pitch, or the card", "tell its pitch as the scale in the load's settings, or use the card",
	"or say with --scale what else shows the scale", "or tell in the load's settings what else shows the scale")

func (c *call) advice(a result.Advice) result.Advice {
	say := func(s string) string { return byCommand.Replace(c.in.words.Say(s)) }
	return result.Advice{Do: say(a.Do), Why: say(a.Why), Check: say(a.Check), Caution: say(a.Caution)}
}

// named puts the photos' own names into a note, in place of the log's.
func (c *call) named(l harvest.Load, text string) string {
	for _, p := range l.Photos {
		text = strings.ReplaceAll(text, p.ID, p.File)
	}
	return c.sentenceOf(text)
}

func (c *call) photoView(p harvest.Photo, may bool) photoView {
	v := photoView{ID: p.ID, File: p.File, Class: p.State, MayDrop: may, Alt: c.t("Photo %s", p.File)}
	switch p.State {
	case harvest.Measured:
		v.Icon, v.Word = "check", c.t("Measured")
	case harvest.Refused:
		v.Icon, v.Word, v.Problem = "stop", c.t("Take it again"), c.sentenceOf(p.Problem)
	case harvest.Failed:
		v.Icon, v.Word, v.Problem = "stop", c.t("Failed, will be tried again"), c.sentenceOf(p.Problem)
	case harvest.Measuring:
		v.Icon, v.Word = "clock", c.t("Being measured")
	default:
		v.Icon, v.Word = "clock", c.t("Kept, waits for measuring")
	}
	if p.State == harvest.Measured || p.State == harvest.Refused {
		v.Thumb = fmt.Sprintf("/photos/%s/small.jpg?v=%t", p.ID, p.HasOverlay)
	}
	if p.Result != nil {
		c.checks(&v, p)
	}
	return v
}

// checks tells what a photo's checks found: warnings of a measured one, and all of them on demand.
func (c *call) checks(v *photoView, p harvest.Photo) {
	passed := 0
	for _, k := range p.Result.Checks {
		text := c.checkName(k.Name)
		if k.OK {
			passed++
		} else if k.Advice != "" {
			text += ": " + byCommand.Replace(c.in.words.Say(k.Advice))
			if p.State == harvest.Measured {
				v.Warnings = append(v.Warnings, upper(byCommand.Replace(c.in.words.Say(k.Advice))))
			}
		}
		v.Checks = append(v.Checks, checkView{k.OK, text})
	}
	v.ChecksWord = c.t("%d of %d checks passed", passed, len(p.Result.Checks))
	if n := len(p.Result.Particles); n > 0 {
		v.Pieces = true
		v.Counted = c.count(n, "1 piece", "%d pieces")
	}
}

// checkNames are the checks as people know them.
var checkNames = map[string]string{
	"sharpness": "sharp enough", "glare": "no glare", "dark": "bright enough", "px_per_mm": "close enough", "covered": "tray not too full",
	"tangled": "pieces lie apart", "heaped": "nothing heaped", "plain_tray": "plain tray", "field": "enough of the tray in view",
	"tray_noise": "clean picture", "cut_pieces": "few pieces cut by the edge", "pieces": "pieces found", "beyond_tray": "no pieces beside the tray", "winding": "smooth ground", "tilt": "from straight above",
	"card": "card in view", "scale": "scale found", "clipped": "not too bright",
}

func (c *call) checkName(name string) string {
	if text, ok := checkNames[name]; ok {
		return upper(c.t(text))
	}
	return upper(strings.ReplaceAll(name, "_", " "))
}

// sentenceOf is a problem of the measuring as a person reads it.
func (c *call) sentenceOf(text string) string {
	if text == "" {
		return ""
	}
	return strings.TrimSuffix(upper(byCommand.Replace(c.in.words.Say(text))), ".") + "."
}
