package readings

import (
	"fmt"
	"math"
)

// defaultSolid is the density of solid deposit over its ground taken for the
// Murray–Davies equation where the study names none (common practice, no
// source).
const defaultSolid = 1.5

// Density is −log10 of a reflectance factor (ISO 5-4:2009 for the geometry,
// ISO 5-3:2009 for the spectral conditions). The factor is above 0; 1 is the
// perfectly reflecting diffuser, and gives density 0. It fails on a factor
// that is not a positive number.
func Density(reflectance float64) (float64, error) {
	if !(reflectance > 0) || math.IsInf(reflectance, 0) {
		return 0, fmt.Errorf("a reflectance factor of %g has no density; give a number above 0, such as 0.5", reflectance)
	}
	return -math.Log10(reflectance), nil
}

// reflectanceOf is the reflectance factor of a density, 10^−D (ISO 5-4:2009).
func reflectanceOf(density float64) float64 { return math.Pow(10, -density) }

// checkedCoverage is the share of the area that solid deposit would have to cover to
// give the density, (1 − 10^−D) / (1 − 10^−S), both densities over the page's
// own zero (Murray 1936, Journal of the Franklin Institute 221, 721–744, after
// Davies). It is below 0 for a negative density and above 1 for one above the
// solid. It fails where solid is not above 0.
func checkedCoverage(density, solid float64) (float64, error) {
	if !(solid > 0) || math.IsInf(solid, 0) {
		return 0, fmt.Errorf("a solid density of %g cannot scale area coverage; give the density of solid deposit over its ground, such as %g", solid, defaultSolid)
	}
	return coverage(density, solid), nil
}

func coverage(density, solid float64) float64 {
	return math.Expm1(-density*math.Ln10) / math.Expm1(-solid*math.Ln10)
}

// coverageSlope is the derivative of coverage along density, for the delta
// method.
func coverageSlope(density, solid float64) float64 {
	return math.Ln10 * reflectanceOf(density) / -math.Expm1(-solid*math.Ln10)
}
