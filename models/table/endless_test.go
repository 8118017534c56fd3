package table_test

import (
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/table"
)

// repeated is a text again and again, to so many bytes.
type repeated struct {
	text string
	at   int
	left int64
}

func (r *repeated) Read(p []byte) (int, error) {
	if r.left <= 0 {
		return 0, io.EOF
	}
	for i := range p {
		p[i] = r.text[r.at]
		r.at = (r.at + 1) % len(r.text)
	}
	r.left -= int64(len(p))
	return len(p), nil
}

// A mark that is not closed, or a line that does not end, is told where it
// begins, and not followed through a gigabyte.
func TestReadEndless(t *testing.T) {
	const gigabyte = 1 << 30
	for _, test := range []struct{ name, head, text, want string }{
		{"a mark", "page,note\n1r,x\n1v,\"a\n", "2r,x\n", `log.csv, line 3: found "a quotation mark that is not closed"; expected fields quoted as RFC 4180 has it; close it; the rows behind it could not be read.`},
		{"a line", "page,note\n1r,x\n", "x", `log.csv, line 3: found "a line that does not end"; expected rows of at most 8 megabytes; check that the file is a table with one book, leaf, page or reading in each row.`},
		{"a header", "", "page,", `log.csv, line 1: found "a line that does not end"; expected rows of at most 8 megabytes; check that the file is a table with one book, leaf, page or reading in each row.`},
	} {
		t.Run(test.name, func(t *testing.T) {
			in := &repeated{text: test.text, left: gigabyte}
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			var ps table.Problems
			table.ReadFrom("log.csv", io.MultiReader(strings.NewReader(test.head), in), &ps)
			runtime.ReadMemStats(&after)
			if diff := cmp.Diff(test.want, ps.Err().Error()); diff != "" {
				t.Error(diff)
			}
			if read := gigabyte - in.left; read > gigabyte/10 {
				t.Errorf("%d bytes were read", read)
			}
			// The buffers of a line double as it grows.
			if made := after.TotalAlloc - before.TotalAlloc; made > gigabyte/2 {
				t.Errorf("%d bytes were made for it", made)
			}
		})
	}
}
