// Package estimate turns the particles of the photos of one sample into its numbers: counts, the share of whole kernels, the
// share of kernel mass through 4.75 mm, length classes and geometric mean of stover, and the modelled content of the sieve
// box, each with its interval.
//
// # Estimates
//
// Every number is a ratio of sums over particles. A particle counts by the probability of its class and by its Miles-Lantuejoul weight;
// what is cut by an edge has no size and counts only where the whole field is in view. Two shots of one
// spread weigh as one photo; the same file twice counts once; refused photos count for nothing.
//
// # Intervals
//
// Within a photo, particles are resampled, each drawn as one of its classes by their probabilities; each
// resample draws one scale error a photo and one set of the doubts that all pieces share (thickness, form and
// corner of kernel pieces; retention of the box; what naming errs alike over all pieces), taken in to first order. Shares then get a Wilson interval with the number of particles that
// explains their variance, so that 0 and 100 % still have a width; the geometric mean gets one on the log
// scale. Quantiles are Student's with the degrees of freedom that the residuals carry; the bound on the side of the residuals'
// skewness lies farther out (Johnson 1978), since most samples hold too few of the rare large pieces that a lot has.
//
// From two photos up, the spread between photos gives a second interval (ratio of sums, linearised, Student's t; the shared doubts added).
// What photos differ beyond their particles' own scatter has one less degree of freedom than photos, and carries as much of the
// interval's degrees of freedom as it has of the variance (Satterthwaite 1946). What is reported covers both. Intervals speak of the lot that the photos sample.
package estimate
