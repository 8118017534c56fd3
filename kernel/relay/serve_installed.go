package relay

import (
	"os"
	"path/filepath"
)

// ServeInstalled serves a notebook with the settings that stand beside the
// running program, as the installer puts them.
func ServeInstalled(connectionFile string) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	s, err := ReadSettings(filepath.Dir(self))
	if err != nil {
		return err
	}
	return Serve(connectionFile, s)
}
