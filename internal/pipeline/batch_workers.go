package pipeline

import (
	"bufio"
	"os"
	"runtime"
	"strconv"
	"strings"
)

// photoMB is what a photo takes at most while it is measured.
const photoMB = 700

// BatchWorkers is a photo at once for each processor, as far as the machine's free memory goes: no more than half of it is used.
func BatchWorkers() int { return workersFor(runtime.GOMAXPROCS(0), freeMB()) }

// workersFor processors and so many MB of free memory, 0 where that is not known.
func workersFor(processors, freeMB int) int {
	if freeMB == 0 {
		return min(2, processors)
	}
	return max(1, min(processors, freeMB/2/photoMB))
}

// freeMB is the memory that may be used, by Linux's own count and the limit of its control group; 0 where they are not to be had.
func freeMB() int {
	free := fieldMB("/proc/meminfo", "MemAvailable:")
	if data, err := os.ReadFile("/sys/fs/cgroup/memory.max"); err == nil && free > 0 {
		if limit, err := strconv.ParseInt(strings.TrimSpace(string(data)), 10, 64); err == nil {
			free = min(free, int(limit>>20))
		}
	}
	return free
}

// fieldMB reads a line such as "MemAvailable: 123 kB".
func fieldMB(file, field string) int {
	f, err := os.Open(file)
	if err != nil {
		return 0
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if parts := strings.Fields(lines.Text()); len(parts) > 1 && parts[0] == field {
			kB, _ := strconv.Atoi(parts[1])
			return kB >> 10
		}
	}
	return 0
}
