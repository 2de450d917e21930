// Package tables writes what was measured for other programs: particles as CSV and Parquet, and a workbook with a
// sheet per table. Metric units and decimal points whatever the language; what is not known is empty.
//
// Everything is written as it comes, sample by sample, so that memory does not grow with the number of samples;
// the same samples in the same order give the same bytes.
package tables
