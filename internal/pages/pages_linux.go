// Package pages keeps yardsticks in ordinary memory.
package pages

import "golang.org/x/sys/unix"

// Ordinary gives this process no large pages from now on, though package vision advises the system to use them for
// pictures. What only decodes a photo, as a yardstick, is then what any program's decode is: on a virtual machine twice as
// slow as in large pages.
func Ordinary() error { return unix.Prctl(unix.PR_SET_THP_DISABLE, 1, 0, 0, 0) }
