package main

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"

	"golang.org/x/sys/unix"
)

// availableMemory is how many bytes of memory this process may still take: what the
// machine has left, or less where a limit of its own or of its control group says so.
func availableMemory() uint64 {
	least := uint64(math.MaxUint64)
	take := func(limit, used uint64) {
		if limit > used {
			least = min(least, limit-used)
		} else {
			least = 1
		}
	}
	if file, err := os.Open("/proc/meminfo"); err == nil {
		defer file.Close()
		for lines := bufio.NewScanner(file); lines.Scan(); {
			var kilobytes uint64
			if n, _ := fmt.Sscanf(lines.Text(), "MemAvailable: %d kB", &kilobytes); n == 1 {
				take(kilobytes<<10, 0)
			}
		}
	}
	if limit, err := number("/sys/fs/cgroup/memory.max"); err == nil {
		if used, err := number("/sys/fs/cgroup/memory.current"); err == nil {
			take(limit, used)
		}
	}
	for _, kind := range []int{unix.RLIMIT_AS, unix.RLIMIT_DATA} {
		var limit unix.Rlimit
		if unix.Getrlimit(kind, &limit) != nil || limit.Cur == unix.RLIM_INFINITY {
			continue
		}
		// The address space of a Go program is reserved far beyond what it uses; what
		// it will need beside its data is not.
		take(limit.Cur, 0)
	}
	if least == math.MaxUint64 {
		return 0
	}
	return least
}

// number is the number that a file of the system holds.
func number(path string) (uint64, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return 0, err
	}
	return strconv.ParseUint(strings.TrimSpace(string(text)), 10, 64)
}
