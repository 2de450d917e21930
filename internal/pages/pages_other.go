//go:build !linux

package pages

// Ordinary does nothing: large pages are asked for under Linux alone.
func Ordinary() error { return nil }
