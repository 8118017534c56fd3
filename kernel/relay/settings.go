package relay

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"thumbed/kernel/wire"
)

// SettingsFile is the name of the file beside the kernel's own that holds its
// [Settings].
const SettingsFile = "settings.json"

// Settings are what the installer found out and the relay needs: every path is
// absolute, so that no notebook has to know one.
type Settings struct {
	Version     string `json:"version"`      // of thumbed, which installed this
	Source      string `json:"source"`       // folder of the module thumbed
	Go          string `json:"go"`           // the go command
	GoVersion   string `json:"go_version"`   // the oldest that will do, as in go1.26.8
	Modules     string `json:"modules"`      // Go's module cache
	Engine      string `json:"engine"`       // gonb
	Tools       string `json:"tools"`        // folder of goimports
	OutputLimit int    `json:"output_limit"` // bytes of text that one cell may show; 0: DefaultOutputLimit
}

// DefaultOutputLimit is how much text one cell may show.
const DefaultOutputLimit = 1 << 20

// displayLimits is how many times OutputLimit a cell's figures and tables may
// take up: a drawing is larger than the words that say the same.
const displayLimits = 32

// ReadSettings reads the settings from the kernel's folder.
func ReadSettings(dir string) (Settings, error) {
	var s Settings
	path := filepath.Join(dir, SettingsFile)
	data, err := os.ReadFile(path)
	if err != nil {
		return s, err
	}
	if err := json.Unmarshal(data, &s); err != nil {
		return s, fmt.Errorf("%s cannot be read (%w); run again: thumbed kernel install", path, err)
	}
	return s, nil
}

// Environment is what gonb and the go command see: the outer environment with
// Go held to what is on this machine. No variable of it reaches the network.
func (s Settings) Environment(outer []string, temp, cache string) []string {
	own := map[string]string{
		"PATH":               s.path(outer),
		"TMPDIR":             temp,
		"GOCACHE":            cache,
		"GOMODCACHE":         s.Modules,
		"GOENV":              "off",
		"GOFLAGS":            "-buildvcs=false '-ldflags=-s -w'",
		"GOPROXY":            "off",
		"GOSUMDB":            "off",
		"GOTOOLCHAIN":        "local",
		"GOWORK":             "",
		"GO111MODULE":        "",
		wire.VersionVariable: s.Version,
	}
	env := make([]string, 0, len(outer)+len(own))
	for _, pair := range outer {
		name, _, _ := strings.Cut(pair, "=")
		if _, ours := own[name]; !ours {
			env = append(env, pair)
		}
	}
	for name, value := range own {
		if value != "" {
			env = append(env, name+"="+value)
		}
	}
	return env
}

// path puts our tools and Go before the outer PATH.
func (s Settings) path(outer []string) string {
	dirs := []string{s.Tools, filepath.Dir(s.Go)}
	for _, pair := range outer {
		if old, ok := strings.CutPrefix(pair, "PATH="); ok {
			dirs = append(dirs, old)
		}
	}
	return strings.Join(dirs, string(os.PathListSeparator))
}

// BuildCache is the folder for what Go has compiled: Go's own where it can be
// written, and otherwise one of this user's among the temporary files.
func BuildCache() (string, error) {
	dir := os.Getenv("GOCACHE")
	if dir == "" {
		if user, err := os.UserCacheDir(); err == nil {
			dir = filepath.Join(user, "go-build")
		}
	}
	if dir != "" && writable(dir) {
		return dir, nil
	}
	dir = filepath.Join(os.TempDir(), fmt.Sprintf("thumbed-build-%d", os.Getuid()))
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", fmt.Errorf("there is no folder to compile in (%w): set GOCACHE to one that you may write", err)
	}
	if !writable(dir) {
		return "", fmt.Errorf("there is no folder to compile in: %s cannot be written; set GOCACHE to one that you may write", dir)
	}
	return dir, nil
}

// writable tells whether files can be made in dir, making dir if need be.
func writable(dir string) bool {
	if os.MkdirAll(dir, 0o777) != nil {
		return false
	}
	probe, err := os.CreateTemp(dir, ".thumbed-")
	if err != nil {
		return false
	}
	probe.Close()
	os.Remove(probe.Name())
	return true
}
