package estimate

import "gristmark/internal/result"

// Share is the interval of sum(num) / sum(den) over particles of one or more photos, in percent, with the machinery of Sample
// but nothing in doubt: classes, masses and fates are known. It is what Sample's intervals are held against.
// num and den are by photo and particle, 0 <= num <= den. Nil where fewer than three effective particles are given.
func Share(num, den [][]float64, opt Options) *result.Estimate {
	opt = opt.filled()
	t := &tallied{}
	for j := range num {
		s := spread{shots: 1, pieces: make([]piece, len(num[j]))}
		each := make([][classCount]terms, len(num[j]))
		var sum terms
		for i := range num[j] {
			s.pieces[i].pBroken = 1
			each[i][asBroken][passingShare] = term{num[j][i], den[j][i]}
			sum[passingShare].num += num[j][i]
			sum[passingShare].den += den[j][i]
		}
		t.spreads, t.each, t.by = append(t.spreads, s), append(t.each, each), append(t.by, sum)
	}
	t.all = total(t.by)
	return draw(t, opt)[passingShare].share(opt.Level, fewestBySize)
}
