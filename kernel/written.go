package kernel

import (
	"io"
	"strings"
)

// written is what a value writes of itself.
func written(write func(io.Writer) error) (string, error) {
	var b strings.Builder
	err := write(&b)
	return b.String(), err
}
