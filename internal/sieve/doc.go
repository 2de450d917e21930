// Package sieve computes from weighed sieve fractions of chopped forage: shares, cumulative undersize, loss,
// geometric mean length and standard deviation by the formula of ANSI/ASAE S424.1, Rosin-Rammler fits, and
// the fibre figures that the trade derives from a sieve box.
//
// Masses are grams, openings and lengths millimetres, shares percent of mass unless a name says otherwise.
// The full text of S424.1 was not at hand: its formula is used and cited, conformity is not claimed.
package sieve
