package solver

// Air is the climate that wood takes its moisture from.
type Air struct {
	F  float64 // temperature, degrees Fahrenheit
	RH float64 // relative humidity, percent
}

// Fahrenheit is a temperature given in degrees Celsius.
func Fahrenheit(celsius float64) float64 { return 1.8*celsius + 32 }

// The air for which EquilibriumMoisture was held against Table 4-2 of the USDA
// Wood Handbook (FPL-GTR-190): within 0.07 point in every cell.
var (
	CoolestAir = Air{F: 30, RH: 5}
	WarmestAir = Air{F: 120, RH: 95}
)

// EquilibriumMoisture is the moisture content, in percent, that wood comes to in
// this air: eq. 4-5 of the Wood Handbook [sec, quoted from FPL-GTR-282],
//
//	M = 1800/W [ Kh/(1-Kh) + (K1 K h + 2 K1 K2 K^2 h^2)/(1 + K1 K h + K1 K2 K^2 h^2) ]
//
// with h the humidity as a fraction and W, K, K1, K2 quadratic in degrees
// Fahrenheit. The second result is false outside CoolestAir to WarmestAir, where
// it has not been checked; there is no moisture then.
func EquilibriumMoisture(a Air) (float64, bool) {
	inside := a.F >= CoolestAir.F && a.F <= WarmestAir.F && a.RH >= CoolestAir.RH && a.RH <= WarmestAir.RH
	if !inside { // and NaN
		return 0, false
	}
	h, t := a.RH/100, a.F
	w := 330 + 0.452*t + 0.00415*t*t
	k := 0.791 + 0.000463*t - 0.000000844*t*t
	k1 := 6.34 + 0.000775*t - 0.0000935*t*t
	k2 := 1.09 + 0.0284*t - 0.0000904*t*t
	kh := k * h
	one, two := k1*kh, k1*k2*kh*kh
	return 1800 / w * (kh/(1-kh) + (one+2*two)/(1+one+two)), true
}
