package desk

// CriticalRange are the factors that placings are held against.
var CriticalRange = criticalRange
