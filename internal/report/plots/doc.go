// Package plots draws what was measured: how long the stover is, how large the kernel pieces are, and how the
// samples run through the season. Colours are told apart by colour-blind readers (Okabe and Ito 2008) and, with dashes
// and shapes, in grey print. The same figures give the same bytes.
package plots
