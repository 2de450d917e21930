//go:build !linux

package pages

// Heap does nothing: large pages are asked for under Linux alone.
func Heap(int) {}
