package folder

import "golang.org/x/sys/windows"

// lock marks a folder or file as being worked on by this process until release is
// called or the process ends, however it ends. It fails where another has it. A
// folder cannot be locked here, and one that is open cannot be moved: a file beside
// it, which nobody else may open and which goes when it is closed, stands for it.
func lock(path string) (release func(), err error) {
	name, err := windows.UTF16PtrFromString(path + heldMark)
	if err != nil {
		return nil, err
	}
	const alone = 0 // sharing with nobody
	opened, err := windows.CreateFile(name, windows.GENERIC_READ, alone, nil, windows.OPEN_ALWAYS,
		windows.FILE_FLAG_DELETE_ON_CLOSE|windows.FILE_ATTRIBUTE_HIDDEN, 0)
	if err != nil {
		return nil, err
	}
	return func() { _ = windows.CloseHandle(opened) }, nil // it has nothing to lose
}

// heldMark ends the name of the file that stands for what is held.
const heldMark = ".held"
