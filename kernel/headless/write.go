package headless

import (
	"os"
	"path/filepath"
)

// WriteWhole writes a file whole or not at all, making its folder if need be.
func WriteWhole(path string, data []byte) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	part, err := os.CreateTemp(dir, ".thumbed-")
	if err != nil {
		return err
	}
	defer os.Remove(part.Name()) // gone already where all went well
	if _, err := part.Write(data); err != nil {
		part.Close()
		return err
	}
	if err := part.Chmod(0o644); err != nil {
		part.Close()
		return err
	}
	if err := part.Close(); err != nil {
		return err
	}
	return os.Rename(part.Name(), path)
}
