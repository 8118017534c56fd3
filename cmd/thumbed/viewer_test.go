package main

import (
	"encoding/json"
	"fmt"
	"html"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// viewerModule is a viewer of IIIF manifests that many libraries have, from npm.
const viewerModule = "mirador@4.0.0"

// TestViewerShowsAnnotations opens the manifests that a run annotates, of both versions
// of the API, in a library's viewer, in a browser: what the results say of the wear of a
// page must stand in its list of annotations, of that page and no other.
func TestViewerShowsAnnotations(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs a browser and a viewer of npm; make real does")
	}
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	viewer := os.Getenv("THUMBED_VIEWER") // the viewer's file, where it is there already
	if viewer == "" {
		get := exec.Command("npm", "pack", "--silent", viewerModule)
		get.Dir = dir
		name, err := get.Output()
		must(t, err)
		must(t, exec.Command("tar", "-xzf", at(strings.TrimSpace(string(name))), "-C", dir).Run())
		viewer = at("package/dist/mirador.min.js")
	}
	var images http.Handler
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { images.ServeHTTP(w, r) }))
	defer server.Close()

	for _, version := range []int{3, 2} {
		t.Run(fmt.Sprint("version ", version), func(t *testing.T) {
			place := server.URL + fmt.Sprint("/wear", version)
			f := small()
			f["study.toml"] += "\n[[images]]\nbook = \"Ant\"\nmanifest = \"ant.json\"\naddress = \"" + place + "\"\n"
			f["ant.json"] = libraryManifest(t, version, server.URL)
			study := f.write(t)
			if code, _, stderr := run("run", study); code != exitDone {
				t.Fatal(stderr)
			}
			results := filepath.Join(study, "results")

			mux := http.NewServeMux()
			mux.Handle(fmt.Sprintf("/wear%d/", version), http.StripPrefix(fmt.Sprintf("/wear%d/", version), served(filepath.Join(results, "annotations"))))
			mux.HandleFunc("/viewer.js", func(w http.ResponseWriter, r *http.Request) { http.ServeFile(w, r, viewer) })
			mux.HandleFunc("/leaf.png", func(w http.ResponseWriter, r *http.Request) {
				w.Header().Set("Access-Control-Allow-Origin", "*")
				leaf := image.NewRGBA(image.Rect(0, 0, 600, 900))
				draw.Draw(leaf, leaf.Bounds(), image.NewUniform(color.RGBA{235, 222, 190, 255}), image.Point{}, draw.Src)
				_ = png.Encode(w, leaf)
			})
			mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
				fmt.Fprintf(w, `<!doctype html><html lang="en"><meta charset="utf-8"><title>viewer</title><div id="viewer"></div><script src="/viewer.js"></script>
<script>Mirador.viewer({id: "viewer", windows: [{manifestId: %q, canvasId: %q}],
window: {sideBarOpen: true, defaultSideBarPanel: "annotations", panels: {annotations: true}}});</script></html>`,
					place+"/ant-manifest.json", server.URL+"/canvas/2")
			})
			images = mux
			said := saidOf(t, filepath.Join(results, "annotations", "ant.json"), server.URL+"/canvas/2")
			other := saidOf(t, filepath.Join(results, "annotations", "ant.json"), server.URL+"/canvas/5")
			page := seen(t, server.URL+"/", at(fmt.Sprintf("viewer%d.png", version)))
			if !strings.Contains(page, said) {
				t.Errorf("the viewer does not show %q:\n%.3000s", said, page[strings.Index(page, "<body"):])
			}
			if said != other && strings.Contains(page, other) {
				t.Errorf("the viewer shows the wear of another page: %q", other)
			}
		})
	}
}

// served is a folder of files as a library would put it on the web.
func served(dir string) http.Handler {
	files := http.FileServer(http.Dir(dir))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Access-Control-Allow-Origin", "*")
		if name := strings.TrimPrefix(r.URL.Path, "/"); strings.HasPrefix(name, "canvas-") { // lists of version 2
			r.URL.Path = "/ant-lists/" + name
		}
		files.ServeHTTP(w, r)
	})
}

// libraryManifest is a manifest of the first small book's pages, one image each.
func libraryManifest(t *testing.T, version int, server string) string {
	t.Helper()
	var canvases []any
	for i := range 16 {
		label, id := fmt.Sprintf("f. %d%c", i/2+1, "rv"[i%2]), fmt.Sprintf("%s/canvas/%d", server, i)
		picture := server + "/leaf.png"
		if version == 2 {
			canvases = append(canvases, map[string]any{"@id": id, "@type": "sc:Canvas", "label": label, "width": 600, "height": 900,
				"images": []any{map[string]any{"@type": "oa:Annotation", "motivation": "sc:painting", "on": id,
					"resource": map[string]any{"@id": picture, "@type": "dctypes:Image", "format": "image/png", "width": 600, "height": 900}}}})
			continue
		}
		canvases = append(canvases, map[string]any{"id": id, "type": "Canvas", "label": map[string]any{"none": []string{label}}, "width": 600, "height": 900,
			"items": []any{map[string]any{"id": id + "/page", "type": "AnnotationPage", "items": []any{map[string]any{
				"id": id + "/image", "type": "Annotation", "motivation": "painting", "target": id,
				"body": map[string]any{"id": picture, "type": "Image", "format": "image/png", "width": 600, "height": 900}}}}}})
	}
	manifest := map[string]any{"@context": "http://iiif.io/api/presentation/3/context.json", "id": server + "/library", "type": "Manifest",
		"label": map[string]any{"en": []string{"Ant's hours"}}, "items": canvases}
	if version == 2 {
		manifest = map[string]any{"@context": "http://iiif.io/api/presentation/2/context.json", "@id": server + "/library", "@type": "sc:Manifest",
			"label": "Ant's hours", "sequences": []any{map[string]any{"@type": "sc:Sequence", "canvases": canvases}}}
	}
	text, err := json.Marshal(manifest)
	must(t, err)
	return string(text)
}

// saidOf is what the annotations say of a canvas.
func saidOf(t *testing.T, file, canvas string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	must(t, err)
	var collection struct {
		First struct {
			Items []struct {
				Target string
				Body   struct{ Value string }
			}
		}
	}
	must(t, json.Unmarshal(text, &collection))
	for _, a := range collection.First.Items {
		if a.Target == canvas {
			return a.Body.Value
		}
	}
	t.Fatalf("nothing is said of %s in %s", canvas, file)
	return ""
}

// seen is a page as it stands in a browser once its scripts have run; picture, where it
// looks, is kept for whoever wants to look too.
func seen(t *testing.T, address, picture string) string {
	t.Helper()
	browser := func(more ...string) string {
		begun := time.Now()
		cmd := exec.Command("chromium", append([]string{"--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-background-networking",
			"--user-data-dir=" + t.TempDir(), "--window-size=1200,900", "--virtual-time-budget=30000"}, append(more, address)...)...)
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%v after %s", err, time.Since(begun))
		}
		return string(out)
	}
	if keep := os.Getenv("THUMBED_SHOTS"); keep != "" {
		browser("--screenshot=" + filepath.Join(keep, filepath.Base(picture)))
	}
	return html.UnescapeString(browser("--dump-dom"))
}
