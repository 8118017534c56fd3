package demo

import (
	"maps"
	"os"
	"path/filepath"
	"slices"

	"thumbed/models/study/folder"
)

// Write makes the new folder dir with the demonstration study in it, whole or
// not at all. Nothing may stand at dir yet.
func Write(dir string) error {
	scenario, err := Written()
	if err != nil {
		return err
	}
	made, err := scenario.Make(scenario.Seed)
	if err != nil {
		return err
	}
	return folder.Create(dir, made.Fill)
}

// Fill writes the files into a folder that is there.
func (m *Made) Fill(dir string) error {
	for _, name := range slices.Sorted(maps.Keys(m.Files)) {
		if err := os.WriteFile(filepath.Join(dir, name), m.Files[name], 0o644); err != nil {
			return err
		}
	}
	return nil
}
