package incubation

// A Salt is one whose saturated solution, in a closed box, holds the air above
// it at a known humidity: what a humidity probe is checked with.
type Salt string

// The salts, driest first.
const (
	LithiumChloride   Salt = "lithium-chloride"
	MagnesiumChloride Salt = "magnesium-chloride"
	SodiumChloride    Salt = "sodium-chloride" // table salt
	PotassiumChloride Salt = "potassium-chloride"
	PotassiumSulfate  Salt = "potassium-sulfate"
)

// polynomial gives percent relative humidity by powers of °C: Greenspan 1977,
// J. Res. NBS 81A:89-96.
func (s Salt) polynomial() (a [4]float64, ok bool) {
	switch s {
	case LithiumChloride:
		return [4]float64{11.2323, 0.00824245, -0.000214890, 0}, true
	case MagnesiumChloride:
		return [4]float64{33.6686, -0.00797397, -0.00108988, 0}, true
	case SodiumChloride:
		return [4]float64{75.5164, 0.0398321, -0.00265459, 0.00002848}, true
	case PotassiumChloride:
		return [4]float64{88.6190, -0.193340, 0.000899706, 0}, true
	case PotassiumSulfate:
		return [4]float64{98.7792, -0.0590502, 0, 0}, true
	}
	return a, false
}

// Uncertainty is how far that may be off, as a ratio, two standard deviations:
// Greenspan's own at 25 °C, from memory. A kitchen's solution is worse.
func (s Salt) Uncertainty() Humidity {
	return map[Salt]Humidity{
		LithiumChloride: 0.0027, MagnesiumChloride: 0.0016, SodiumChloride: 0.0012,
		PotassiumChloride: 0.0026, PotassiumSulfate: 0.0045,
	}[s]
}

// Salts gives every salt, driest first.
func Salts() []Salt {
	return []Salt{LithiumChloride, MagnesiumChloride, SodiumChloride, PotassiumChloride, PotassiumSulfate}
}

// Humidity gives the humidity over the saturated solution. False for another
// salt, or outside 0 to 50 °C, where the figures were not measured.
func (s Salt) Humidity(c Celsius) (Humidity, bool) {
	a, ok := s.polynomial()
	t := float64(c)
	if !ok || !(t >= 0 && t <= 50) {
		return 0, false
	}
	return Humidity((a[0] + t*(a[1]+t*(a[2]+t*a[3]))) / 100), true
}
