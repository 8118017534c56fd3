package formats

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// lines gives the first lines of a text.
func lines(text []byte, n int) string {
	all := strings.SplitAfterN(string(text), "\n", n+1)
	return strings.Join(all[:min(n, len(all))], "")
}

// shown is how long a list, and a text, is shown in an excerpt.
const (
	shownItems = 1
	shownText  = 90
)

// noise is the size of a number that is what rounding left of zero.
const noise = 1e-12

// excerpt shortens JSON for an example: of each list its first item, long texts cut,
// numbers to four significant digits, so that no processor changes the page.
func excerpt(text []byte) (string, error) {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	var out bytes.Buffer
	token, err := decoder.Token()
	if err == nil {
		err = cut(decoder, token, &out)
	}
	if err != nil {
		return "", err
	}
	var shown bytes.Buffer
	err = json.Indent(&shown, out.Bytes(), "", "  ")
	return shown.String(), err
}

// cut copies one value, in the order in which the file has its keys.
func cut(d *json.Decoder, token json.Token, out *bytes.Buffer) error {
	switch v := token.(type) {
	case json.Delim:
		return cutInside(d, v, out)
	case json.Number:
		if f, err := v.Float64(); err == nil && strings.ContainsAny(v.String(), ".eE") {
			if math.Abs(f) < noise {
				f = 0
			}
			out.WriteString(strconv.FormatFloat(f, 'g', 4, 64))
			return nil
		}
		out.WriteString(v.String())
		return nil
	case string:
		if runes := []rune(v); len(runes) > shownText {
			v = string(runes[:shownText]) + " …"
		}
		return write(out, v)
	}
	return write(out, token)
}

func write(out *bytes.Buffer, v any) error {
	encoder := json.NewEncoder(out)
	encoder.SetEscapeHTML(false)
	err := encoder.Encode(v)
	out.Truncate(len(bytes.TrimRight(out.Bytes(), "\n")))
	return err
}

func cutInside(d *json.Decoder, opening json.Delim, out *bytes.Buffer) error {
	closing := map[json.Delim]json.Delim{'{': '}', '[': ']'}[opening]
	out.WriteString(opening.String())
	for n := 0; d.More(); n++ {
		show := opening == '{' || n < shownItems
		var into bytes.Buffer
		token, err := d.Token()
		if err != nil {
			return err
		}
		if opening == '{' {
			if err := write(&into, token); err != nil {
				return err
			}
			into.WriteString(":")
			if token, err = d.Token(); err != nil {
				return err
			}
		}
		if err := cut(d, token, &into); err != nil {
			return err
		}
		if show {
			if n > 0 {
				out.WriteString(",")
			}
			out.Write(into.Bytes())
		}
	}
	if end, err := d.Token(); err != nil || end != closing {
		return fmt.Errorf("broken off: %v %w", end, err)
	}
	out.WriteString(closing.String())
	return nil
}
