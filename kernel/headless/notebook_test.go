package headless_test

import (
	"testing"

	"thumbed/kernel/headless"
)

// FuzzNotebook wants that a notebook reads or is refused, and that one which
// reads agrees with itself.
func FuzzNotebook(f *testing.F) {
	f.Add(notebook("12 pages", "<td>0.5</td>"))
	f.Add([]byte(`{"nbformat":4,"cells":[{"cell_type":"code","source":["a","b"],"outputs":[{"output_type":"stream","text":"x"},{"output_type":"display_data","data":{"image/png":"AAAA","text/plain":[1]}}]}]}`))
	f.Add([]byte(`{"nbformat":4,"cells":[{"source":{}}]}`))
	f.Add([]byte(`{"nbformat":4,"cells":null,"cells":[]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		n, err := headless.Parse(data)
		if err != nil {
			return
		}
		n.Shown()
		if differences, err := headless.Compare(data, data); err == nil && len(differences) > 0 {
			t.Errorf("it differs from itself: %v", differences)
		}
	})
}
