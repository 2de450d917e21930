// Package coverage draws samples from lots whose numbers are known, measures them as a photo would (size and
// scale errors, doubtful names), and counts how often the intervals of package estimate hold the lot's numbers and how wide they are against
// intervals from the true outlines, masses and fates. The lots' kernels are broken and sieved in space by package fracture, and stover
// is drawn through a box with a bridge and steepness of each lot's own: neither knows package kernel.
package coverage
