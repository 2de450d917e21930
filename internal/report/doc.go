// Package report writes results for people and for spreadsheets: the summary in the terminal, CSV, and
// the overlay, which is the photo with everything drawn in that was found.
package report
