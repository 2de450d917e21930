package rulers

import (
	"fmt"
	"strings"

	"gristmark/calib"
)

const aboutRulers = `# Rulers: how well the scale is known

Written by ` + "`make accuracy`" + ` (` + "`go run ./internal/accuracy/rulers/table -out docs/rulers.md`" + `): do not edit.

A photo's millimetres come from a ruler in it: the printed card or mat, a drawn grid of known pitch, a rectangle or sheet of
known size, or a rule with ticks. Each is drawn here many times by a camera of its own, which shares no code with what
detects, and the scale that is found is held against the one that was drawn. All seeds are for reporting: nothing was
tuned on them.

## What the stated uncertainty consists of

The scale's relative standard deviation joins, as the root of the sum of squares:

- what the photo leaves open: the fit of a pinhole camera with radial distortion to the marks, its focal length, middle and
  distortion held by priors (with EXIF 5 %% of the focal length, without 30 %% about 26 mm; distortion of 3 %% at half the
  diagonal; assumed). Residuals count four times as much variance as independent ones would;
- flatness and thickness of the ruler: %.2f %% (assumed: 0.2 mm at 250 mm); of a rule %.1f mm over the camera's height
  (assumed: steel is 0.5 to 1 mm thick);
- what no photo shows, that the ruler is not as long as it is said to be: a print of the card or mat that nobody checked
  %.1f %% (from memory: printers told to print at 100 %% come out within some half a percent), one that was checked
  %.1f %% (0.1 mm read on 100 mm), a grid's pitch 0.2 %%, a rectangle's or a sheet's sides 0.3 %% (assumed; ISO 216 allows
  sheets 1.5 to 2 mm on sides of 150 to 600 mm);
- for a rule, the tilt about its own length, which ticks in one line do not show: %d degrees, of a photo taken by hand
  (assumed), with what it adds by its square. The interval is therefore wide, the wider the farther the rule lies from the
  photo's middle; beyond a standard deviation of %.0f %% there is no scale.

## What is drawn

Photos of %d x %d px by phone lenses of 23 to 29 mm (35 mm equivalent), whose focal length EXIF tells in %.0f %% of them; %.0f %% of the
lenses bend by -6 to 2 %%, the others by %.1f %% (standard deviation). Camera 14 to 50 cm above the tray, tilt up to 15° (card), 12° (mat),
25° (grid), 20° (frame), 2° and 12° (rule). Prints, pitches and sizes off by the standard deviations above; paper 0.08 to 0.3 mm
thick and in waves of up to 0.15 mm; rules 0.3 to 1.1 mm thick. Chop with shadows everywhere, a straw or two across the card, half of a mat's rim or a
third of a grid hidden, a frame's corner buried in half of the photos, or one to four of its corners outside the photo; uneven light, blur,
noise, JPEG.

## What came out

"Scale error" leaves out what no photo shows (print, pitch, size): the goals are for it. "Of true mm" and the intervals have
it all in them. "At a piece's height" is the scale at the upper face of a kernel whose thickness is drawn (4.57 ± 0.7 mm), corrected
with the camera's height as found. "Corners" are the distances of the ruler's marks from where they were drawn.

`

// Document is the page of docs on the rulers.
func Document(all []Summary, falses []False, times []Timing) string {
	var b strings.Builder
	fmt.Fprintf(&b, aboutRulers, 100*calib.FloorSD, calib.RuleRiseMM, 100*calib.PrintSD, 100*calib.CheckSD, calib.RuleTiltSDDeg, 100*calib.MaxRuleSD, Small.W, Small.H, 100*exifShare, 100*bentShare, 100*usualBend)
	b.WriteString(Report(all))
	holds, n := 0.0, 0.0
	for _, s := range all {
		for _, x := range s.Scores {
			if x.Problem == "" {
				n++
				if x.Holds() {
					holds++
				}
			}
		}
	}
	fmt.Fprintf(&b, "Over all %.0f scales the 95 %% interval holds the truth in %.1f %%.\n\n", n, 100*holds/n)
	missed := Missed(all)
	for _, t := range times {
		if t.Over() > goalDecodes {
			missed = append(missed, fmt.Sprintf("%s: finding it takes %.2f decodes, not %g", t.Ruler, t.Over(), goalDecodes))
		}
	}
	section(&b, "Not reached", missed)
	b.WriteString("## Photos without a ruler\n\nPatterns and chop; each kind of ruler is asked for where the photo holds nothing that it is made of (no square lattice for a grid,\nno ticks for a rule, no rectangle for a frame).\n\n")
	b.WriteString(FalseReport(falses))
	b.WriteByte('\n')
	var found []string
	for _, f := range falses {
		found = append(found, f.Found...)
	}
	section(&b, "Stated nevertheless", found)
	if len(times) > 0 {
		b.WriteString("## Time\n\nProcessor time of finding the ruler in a drawn photo of 12 megapixels over that of decoding its JPEG, one thread; the goal is 0.8.\n\n| ruler | decode ms | find ms | over the decode |\n|---|---:|---:|---:|\n")
		for _, t := range times {
			fmt.Fprintf(&b, "| %s | %d | %d | %.2f |\n", t.Ruler, t.Decode.Milliseconds(), t.Find.Milliseconds(), t.Over())
		}
	}
	return b.String()
}

func section(b *strings.Builder, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "%s:\n\n", title)
	for _, l := range lines {
		fmt.Fprintf(b, "- %s\n", l)
	}
	b.WriteByte('\n')
}
