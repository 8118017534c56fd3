// Release writes archives of thumbed for the systems that scholars have, into the
// folder named (dist): the program, completions for shells, a page to start from,
// and the licences of all that it is built of; and SHA256SUMS, which sha256sum -c reads.
//
//	go run .ci/release.go [-only linux/amd64,windows/amd64] [-vet] dist
//
// The same source gives the same bytes: files bear the time of the commit.
package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"flag"
	"fmt"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	_ "embed"
)

//go:embed start-here.txt
var startHere string

const all = "linux/amd64,linux/arm64,darwin/amd64,darwin/arm64,windows/amd64,windows/arm64"

func main() {
	log.SetFlags(0)
	only := flag.String("only", all, "systems and processors")
	vet := flag.Bool("vet", false, "have go vet look at all packages for each")
	flag.Parse()
	if flag.NArg() != 1 {
		log.Fatal("name the folder to write into")
	}
	if err := release(flag.Arg(0), strings.Split(*only, ","), *vet); err != nil {
		log.Fatal(err)
	}
}

func release(out string, platforms []string, vet bool) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "thumbed-release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	native := filepath.Join(work, "native")
	if err := build(native, runtime.GOOS, runtime.GOARCH); err != nil {
		return err
	}
	version, err := output(nil, native, "version")
	if err != nil {
		return err
	}
	version, _, _ = strings.Cut(strings.TrimPrefix(version, "thumbed "), "\n")
	made := time.Unix(0, 0).UTC()
	if stamp, err := output(nil, "git", "log", "-1", "--format=%ct"); err == nil {
		if seconds, err := strconv.ParseInt(strings.TrimSpace(stamp), 10, 64); err == nil {
			made = time.Unix(seconds, 0).UTC()
		}
	}
	common, err := commonFiles(native)
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, platform := range platforms {
		goos, goarch, ok := strings.Cut(platform, "/")
		if !ok {
			return fmt.Errorf("%q is not a system and a processor, as linux/amd64", platform)
		}
		program := filepath.Join(work, goos+"-"+goarch)
		if err := build(program, goos, goarch); err != nil {
			return err
		}
		if vet {
			if _, err := output(environment(goos, goarch), "go", "vet", "./..."); err != nil {
				return err
			}
		}
		licences, err := licencesOf(goos, goarch)
		if err != nil {
			return err
		}
		files := append(slices.Clone(common), licences...)
		name := fmt.Sprintf("thumbed-%s-%s-%s", version, goos, goarch)
		data, err := os.ReadFile(program)
		if err != nil {
			return err
		}
		var archive []byte
		if goos == "windows" {
			for i := range files {
				if strings.HasSuffix(files[i].name, ".txt") {
					files[i].data = bytes.ReplaceAll(files[i].data, []byte("\n"), []byte("\r\n"))
				}
			}
			files = append(files, file{"thumbed.exe", data, 0o755})
			archive, err = zipped(name, files, made)
			name += ".zip"
		} else {
			files = append(files, file{"thumbed", data, 0o755})
			archive, err = tarred(name, files, made)
			name += ".tar.gz"
		}
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(out, name), archive, 0o644); err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(archive), name)
		fmt.Printf("%s, %.1f MB\n", filepath.Join(out, name), float64(len(archive))/1e6)
	}
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(sums.String()), 0o644)
}

func environment(goos, goarch string) []string {
	return append(os.Environ(), "CGO_ENABLED=0", "GOOS="+goos, "GOARCH="+goarch)
}

func build(to, goos, goarch string) error {
	_, err := output(environment(goos, goarch), "go", "build", "-trimpath", "-ldflags=-s -w", "-o", to, "./cmd/thumbed")
	return err
}

func output(env []string, name string, args ...string) (string, error) {
	cmd := exec.Command(name, args...)
	cmd.Env = env
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w\n%s", name, strings.Join(args, " "), err, &complaints)
	}
	return string(out), nil
}

type file struct {
	name string
	data []byte
	mode os.FileMode
}

// commonFiles are the same for every system.
func commonFiles(native string) ([]file, error) {
	licence, err := os.ReadFile("LICENSE")
	if err != nil {
		return nil, err
	}
	files := []file{{"START-HERE.txt", []byte(startHere), 0o644}, {"LICENSE.txt", licence, 0o644}}
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		script, err := output(nil, native, "completion", shell)
		if err != nil {
			return nil, err
		}
		files = append(files, file{"completions/thumbed." + shell, []byte(script), 0o644})
	}
	return files, nil
}

var licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents|authors)`)

// licencesOf are those of Go and of all modules that the program holds on a system; a
// module without one is an error.
func licencesOf(goos, goarch string) ([]file, error) {
	list, err := output(environment(goos, goarch), "go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}@{{.Version}}\t{{.Dir}}{{end}}{{end}}", "./cmd/thumbed")
	if err != nil {
		return nil, err
	}
	root, err := output(nil, "go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	lines := append(strings.Split(strings.TrimSpace(list), "\n"), "go\t"+strings.TrimSpace(root))
	slices.Sort(lines)
	var files []file
	for _, line := range slices.Compact(lines) {
		module, dir, ok := strings.Cut(line, "\t")
		if !ok {
			continue
		}
		entries, err := os.ReadDir(dir)
		if err != nil {
			return nil, err
		}
		found := false
		for _, e := range entries {
			if e.IsDir() || !licenceName.MatchString(e.Name()) {
				continue
			}
			data, err := os.ReadFile(filepath.Join(dir, e.Name()))
			if err != nil {
				return nil, err
			}
			found = found || !strings.HasPrefix(strings.ToLower(e.Name()), "authors")
			name := strings.TrimSuffix(strings.TrimSuffix(e.Name(), ".txt"), ".md") + ".txt"
			files = append(files, file{"licences/" + module + "/" + name, data, 0o644})
		}
		if !found {
			return nil, fmt.Errorf("the module %s has no licence in %s", module, dir)
		}
	}
	return files, nil
}

func tarred(top string, files []file, made time.Time) ([]byte, error) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	t := tar.NewWriter(z)
	for _, f := range files {
		if err := t.WriteHeader(&tar.Header{Name: top + "/" + f.name, Size: int64(len(f.data)), Mode: int64(f.mode), ModTime: made, Format: tar.FormatPAX}); err != nil {
			return nil, err
		}
		if _, err := t.Write(f.data); err != nil {
			return nil, err
		}
	}
	if err := t.Close(); err != nil {
		return nil, err
	}
	err := z.Close()
	return packed.Bytes(), err
}

func zipped(top string, files []file, made time.Time) ([]byte, error) {
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	for _, f := range files {
		h := &zip.FileHeader{Name: top + "/" + f.name, Method: zip.Deflate, Modified: made}
		h.SetMode(f.mode)
		w, err := z.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return packed.Bytes(), err
}
