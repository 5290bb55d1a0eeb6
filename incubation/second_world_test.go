package incubation_test

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The second world is not the model's: its eggs grow by another curve, its
// TSP has no edges, its sex curve has another form and another pivotal
// temperature, and what varying temperature makes of an egg follows none of
// the members' rules. Its figures are chosen here, within what is published.

// sharpe is the rate of Sharpe and Schoolfield with its high-temperature
// branch (Schoolfield, Sharpe & Magnuson 1981), as a multiple of that at 25 °C.
// The three figures are derived: growth as a gecko's between 26 and 32 °C,
// fastest near 34.
func sharpe(celsius float64) float64 {
	const gas, enthalpy, high, half = 8.314, 80e3, 330e3, 310.2
	k := celsius + 273.15
	up := k / 298.15 * math.Exp(enthalpy/gas*(1/298.15-1/k))
	return up / (1 + math.Exp(high/gas*(1/half-1/k)))
}

// briere is the rate of Brière et al. 1999, its first form, without its factor.
// Derived as sharpe.
func briere(celsius float64) float64 {
	const zero, lethal = 18.0, 40.0
	if celsius <= zero || celsius >= lethal {
		return 0
	}
	return celsius * (celsius - zero) * math.Sqrt(lethal-celsius)
}

// scaled makes a rate of a shape: that many days at 28 °C.
func scaled(shape func(float64) float64, days float64) func(float64) float64 {
	factor := 1 / (days * shape(28))
	return func(celsius float64) float64 { return factor * shape(celsius) }
}

// secondCurve is the second world's share of males at a constant temperature: a
// flexit that rises (Abreu-Grobois et al. 2020) about the 30.5 °C of Bragg et
// al. 2000 to a plateau, and an A-logistic that falls (Godfrey et al. 2003).
// The plateau and the falling limb are derived from the shares that Viets et
// al. 1993 print for 32 and 32.5 °C.
func secondCurve(celsius float64) float64 {
	const plateau = 0.935
	return plateau * secondRise((30.5-celsius)/0.49) * secondFall((celsius-33.1)/0.4)
}

func secondRise(x float64) float64 {
	if x < 0 {
		return 1 - secondSide(-x, 0.5)
	}
	return secondSide(x, 2.5)
}

func secondSide(x, k float64) float64 {
	whole := math.Exp2(k) - 1
	return math.Pow(1+whole*math.Exp(math.Exp2(k-1)*k*x/whole), -1/k)
}

func secondFall(x float64) float64 {
	e := math.Exp(-0.4)
	return math.Pow(1+(math.Exp2(e)-1)*math.Exp(x), -1/e)
}

// secondWorld has one duration at 28 °C, give or take 3 % between keepers.
func secondWorld(days float64) world {
	return func(rng *rand.Rand) *animals {
		shape := sharpe
		if rng.IntN(2) == 0 {
			shape = briere
		}
		return &animals{
			rate: scaled(shape, days*(0.97+0.06*rng.Float64())),
			counts: func(done float64) float64 { // a bell; Bull's 1987 limits are its sides
				z := (done - 0.36) / 0.075
				return math.Exp(-z * z / 2)
			},
			// Evenly spread, ±8 %: an sd of 4.6 %.
			hatches: func(rng *rand.Rand) float64 { return 0.92 + 0.16*rng.Float64() },
			chance:  func(f *felt) float64 { return secondChance(f, 0) },
			// Dams differ by their pivotal temperature, sd 0.3 K, not by a liability.
			leaning: func(f *felt, z float64) float64 { return secondChance(f, 0.3*z) },
		}
	}
}

// secondChance sums up a liability to become male over all that was felt, the
// curve moved up by so many kelvin.
func secondChance(f *felt, moved float64) float64 {
	return normalBelow(f.average(func(celsius float64) float64 {
		return normalQuantile(min(max(secondCurve(celsius-moved), 1e-4), 1-1e-4))
	}))
}

// What the second world must be to be worth anything: a leopard gecko's, as far
// as anything is published, and yet not the model.
func TestSecondWorldIsOneOfThese(t *testing.T) {
	for name, shape := range map[string]func(float64) float64{"Sharpe": sharpe, "Brière": briere} {
		rate := scaled(shape, 54)
		near(t, name+": days at 28 °C", 1/rate(28), 54, 1e-9)
		// Derived: straight lines through the durations of Gekko japonicus (Ding
		// 2012), the middle one, and Heteronotia binoei (Kearney & Shine 2004), from
		// 54 d at 28 °C.
		near(t, name+": days at 26 °C", 1/rate(26), 67, 5)
		near(t, name+": days at 32 °C", 1/rate(32), 38.5, 3)
		best, at := 0.0, 0.0
		for c := 25.0; c < 39; c += 0.01 {
			if r := rate(c); r > best {
				best, at = r, c
			}
		}
		near(t, name+": fastest at °C", at, 34, 0.6)
		if rate(36) >= rate(34.5) {
			t.Errorf("%s: still faster at 36 °C, %.4f, than at 34.5, %.4f", name, rate(36), rate(34.5))
		}
		t.Logf("%s: %.1f d at 26, %.1f at 28, %.1f at 30, %.1f at 32, %.1f at 34, %.1f at 36 °C",
			name, 1/rate(26), 1/rate(28), 1/rate(30), 1/rate(32), 1/rate(34), 1/rate(36))
	}
	for _, row := range hatchlings {
		if p := secondCurve(row.celsius); p < row.low-1e-3 || p > row.high {
			t.Errorf("%g °C: share of males %.3f is outside the published %.3f to %.3f",
				row.celsius, p, row.low, row.high)
		}
	}
}
