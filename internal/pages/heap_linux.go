package pages

import "golang.org/x/sys/unix"

// Heap advises the system to use large pages for about so many bytes of Go's heap, the first that will be used: pictures lie there, each touched once, and pages
// of 4 kB are handed over one by one. Nothing is taken until it is used. It is advice only: refused is as well.
func Heap(bytes int) {
	_ = unix.Madvise(make([]byte, bytes), unix.MADV_HUGEPAGE) // fresh from the system, untouched, and garbage at once
}
