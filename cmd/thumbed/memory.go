package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"thumbed/models/wording"
)

// What a run takes of memory: a base, and for each byte of the tables that it reads
// (seen: 100,000 readings, 6 MB, 150 MB; 1,000,000 readings, 60 MB, below 1 GiB).
const (
	baseMemory    = 60 << 20
	memoryPerByte = 15
)

// needOf estimates how many bytes of memory a run of the study at path will take: from the
// sizes of the tables in its folder.
func needOf(path string) uint64 {
	var bytes uint64
	entries, err := os.ReadDir(folderOf(path))
	if err != nil {
		return 0 // opening the study tells what is wrong
	}
	for _, e := range entries {
		info, err := e.Info()
		if err == nil && info.Mode()&fs.ModeType == 0 && strings.EqualFold(filepath.Ext(e.Name()), ".csv") {
			bytes += uint64(info.Size())
		}
	}
	return baseMemory + memoryPerByte*bytes
}

// enoughMemory refuses what needs more than there is; 0 is not known.
func enoughMemory(need, available uint64) error {
	if available == 0 || need <= available {
		return nil
	}
	return fmt.Errorf("this run would take about %s of memory, and %s may be used here: run it on a larger machine, or raise the limit; a corpus of single books takes less", inMegabytes(need), inMegabytes(available))
}

func inMegabytes(bytes uint64) string { return wording.Whole(int(bytes>>20)) + "\u00a0MB" }
