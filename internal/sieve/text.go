package sieve

import "strings"

// trimPrefix gives the sentence of an error without the package's name.
func trimPrefix(err error) string { return strings.TrimPrefix(err.Error(), "sieve: ") }
