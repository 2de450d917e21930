// Package lab fits a farm's own correction from pairs of photo estimate and laboratory score, and applies it.
//
// Both values carry errors, so the line is fitted with errors in both variables: York, Evensen, Lopez Martinez & De
// Basabe Delgado 2004, Am. J. Phys. 72:367. Percentages throughout. A correction speaks of one state of
// the crop and of the range of its pairs, nothing else.
package lab
