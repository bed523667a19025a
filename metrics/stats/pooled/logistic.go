package pooled

import "math"

// softplusMean returns, for x ~ N(m, v), the means of log(1+e^x), of its first
// derivative (the logistic rate), of its second (the weight of one trial) and of
// its third (how the weight changes).
//
// Small variances take the Taylor series in v, whose terms are polynomials in
// the weight; larger ones Gauss-Hermite quadrature.
func softplusMean(m, v float64) (value, rate, weight, third float64) {
	if v > seriesUpTo {
		return softplusQuadrature(m, v)
	}
	value, p, q := softplus(m)
	w, t := p*q, q-p
	// v/2, v²/8, v³/48 are the coefficients of the 2nd, 4th and 6th derivatives.
	a := v / 2
	b, c := a*a/2, a*a*a/6
	d4 := w * (1 - 6*w)
	d6 := w * (1 + w*(-30+w*120))
	d8 := w * (1 + w*(-126+w*(1680-w*5040)))
	value += a*w + b*d4 + c*d6
	d5 := 1 - 12*w
	d7 := 1 + w*(-60+w*360)
	rate = p + t*w*(a+b*d5+c*d7)
	weight = w + a*d4 + b*d6 + c*d8
	third = t * w * (1 + a*d5 + b*d7)
	return value, rate, weight, third
}

// seriesUpTo is the variance at which the series is still right to 5e-4 of a
// trial's weight; the tests check it against quadrature.
const seriesUpTo = 0.3

// softplus returns log(1+e^x), the logistic rate of x and that of -x.
func softplus(x float64) (value, p, q float64) {
	e := math.Exp(-math.Abs(x))
	value = math.Log(1 + e) // e is at most 1: rounding of the sum is rounding of the value
	p, q = 1/(1+e), e/(1+e)
	if x < 0 {
		return value, q, p
	}
	return x + value, p, q
}

// sigmoid is the logistic rate of x.
func sigmoid(x float64) float64 {
	if x < 0 {
		e := math.Exp(x)
		return e / (1 + e)
	}
	return 1 / (1 + math.Exp(-x))
}

func softplusQuadrature(m, v float64) (value, rate, weight, third float64) {
	sd := math.Sqrt(v)
	for i, x := range hermiteX {
		h := hermiteW[i]
		a, p, q := softplus(m + sd*x)
		value += h * a
		rate += h * p
		weight += h * p * q
		third += h * p * q * (q - p)
	}
	return value, rate, weight, third
}
