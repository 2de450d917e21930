// Package judge turns the measured photos of a sample into its judged numbers: estimates, correction to the laboratory, verdict and
// advice. It takes a person's names for pieces too and judges anew, from the measurement document alone, without the photos.
package judge
