package thumbed

import (
	_ "github.com/google/go-cmp/cmp"
	_ "github.com/kniren/gota/dataframe"
	_ "github.com/go-gota/gota/series"
	_ "github.com/pelletier/go-toml/v2"
	_ "github.com/schollz/progressbar/v3"
	_ "github.com/spf13/cobra"
	_ "golang.org/x/term"
	_ "golang.org/x/text/unicode/norm"
	_ "gonum.org/v1/gonum/mat"
	_ "gonum.org/v1/gonum/optimize"
	_ "gonum.org/v1/gonum/stat/distuv"
	_ "gonum.org/v1/plot"
	_ "gonum.org/v1/plot/vg/vgpdf"
	_ "gonum.org/v1/plot/vg/vgsvg"
	_ "gonum.org/v1/plot/vg/vgimg"
	_ "pgregory.net/rapid"
)
