package pages

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// Some of the heap is marked for large pages afterwards ("hg", proc(5)), and none of it is taken before it is used.
func TestHeapIsAdvisedAndNotTaken(t *testing.T) {
	if _, err := os.Stat("/sys/kernel/mm/transparent_hugepage"); err != nil {
		t.Skip("this system has no large pages of its own accord")
	}
	before := advised(t)
	resident := residentKB(t)
	Heap(64 << 20)
	if got := advised(t) - before; got < 1 {
		t.Errorf("%d more ranges of memory are marked for large pages, want one at least", got)
	}
	if got := residentKB(t) - resident; got > 8<<10 {
		t.Errorf("%d kB of memory were taken", got)
	}
}

func advised(t *testing.T) (n int) {
	smaps, err := os.ReadFile("/proc/self/smaps")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(smaps)) {
		if strings.HasPrefix(line, "VmFlags:") && strings.Contains(line, " hg") {
			n++
		}
	}
	return n
}

func residentKB(t *testing.T) (kB int) {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(status), "VmRSS:")
	if _, err := fmt.Sscan(rest, &kB); err != nil {
		t.Fatal(err)
	}
	return kB
}
