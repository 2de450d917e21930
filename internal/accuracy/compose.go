package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"gristmark/internal/accuracy/score"
)

const howToRead = `Every scene is rendered by internal/scene with its truth. A find counts as a piece when the outlines overlap by half (F1 at 0.5)
or three quarters (F1 at 0.75) of what either covers; each truth is found once at most, so that split pieces are extras and merged ones misses.
Things shorter than %.1f mm count for nothing. A refused usable scene counts all its pieces as missed. Sizes are compared on pieces that the frame
does not cut and that were named on the right side, or without a class favour it; errors are relative, bias is the median with its sign. Whether kernel or
stover is right goes by the class; a piece without one, as between a whole kernel and a broken one, is on the side to which it belongs with a
probability of 0.6, or on neither, which is not right. Sample numbers
are held against what the scene realised, intervals against the lot that the scene was drawn from. The yardstick is scripts/yardstick.py: a plain
scikit-image chain that is given the true scale and the outlines of tray and ruler. It names nothing. "True outlines" are the same estimates from
pieces found, measured and named without fault: what is left is the models' own error, and the narrowest interval. Counts of whole and of broken
kernels are expected counts, the sum of the pieces' probabilities as the sample's numbers use it, over what the frame does not cut; pieces that lost 3 to
8 %% of their outline, which no photo puts on a side of the line of 95 %%, are left out of them and reported apart. Where a goal speaks of scenes without
a share of them, nine of ten are meant.
`

const howAslant = `
An area is that seen from straight above; a camera that hangs 25 cm over a tray sees the sides of pieces in its corners. By how aslant the line of sight is
(of pieces that nothing hides), the error of the area, and that of what the outline covers of the photo, which is had before anything is assumed of
the piece's height and form:

`

// compose writes the report on rendered scenes; the goals take in the real photographs.
func compose(opt options, r scored, reals []realScore) string {
	all, ideal, yardstick := score.NewFamily("all"), score.NewFamily("all"), score.NewFamily("all")
	for _, f := range r.Families {
		all.Merge(f)
		ideal.Merge(r.Ideal[f.Name])
		if y := r.Yardstick[f.Name]; y != nil {
			yardstick.Merge(y)
		}
	}
	beat := map[string]*score.Family{}
	maps.Copy(beat, r.Yardstick)
	if len(beat) > 0 {
		beat["all"] = yardstick
	}
	withAll := append(slices.Clone(r.Families), all)

	var b strings.Builder
	fmt.Fprintf(&b, "# Accuracy\n\nCommit %s; %s seeds, %d scenes of each family, %d in all. Made by `make accuracy`.\n\n", commit(), opt.Seeds, opt.Scenes, all.Scenes)
	fmt.Fprintf(&b, howToRead, score.SmallestMM)
	section(&b, "What was to be reached", reached(figures{r, reals}))
	section(&b, "Finding pieces", detection(withAll, beat)+"\n"+lone(all))
	section(&b, "Naming them", confusion(all)+"\n"+naming(withAll))
	section(&b, "Counting whole and broken kernels", grains(withAll)+"\n"+nicked(withAll))
	section(&b, "Sizes", sizes(withAll)+howAslant+aslant(all))
	section(&b, "Numbers of the sample", sampleNumbers(all, ideal, yardstick)+"\n"+numbersByFamily(withAll)+"\n"+lengthClasses(withAll))
	section(&b, "Probabilities", reliability(all))
	section(&b, "Refusals", refusals(all))
	return b.String()
}

func section(b *strings.Builder, title, text string) { fmt.Fprintf(b, "\n## %s\n\n%s", title, text) }
