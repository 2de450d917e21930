// Package stats holds the intervals, tests and resampling that the judgements rest on.
//
// Shares are fractions 0..1, levels are coverages such as 0.95. Nothing here reads a clock or a global
// source of randomness: whoever resamples hands in the seed. Counts that make no sense (none at all, or
// more successes than trials) give the interval that says nothing is known, never a panic.
package stats
