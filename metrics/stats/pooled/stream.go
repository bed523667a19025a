package pooled

import "math/rand/v2"

// Purposes keep the streams of one seed apart.
const (
	forBorder = iota + 1
	forGroup
	forGroupItem
	forLevel
	forNewGroup
	forNewGroupItem
	forShift
	forExact
)

// stream is a generator of its own for one purpose and place, so that what one
// question draws does not depend on which others were asked.
func stream(seed uint64, purpose, a, b int) *rand.Rand {
	h := mix64(seed ^ mix64(uint64(purpose)))
	h = mix64(h ^ uint64(a))
	return rand.New(rand.NewPCG(h, mix64(h^uint64(b))))
}

// mix64 is the finaliser of Steele GL, Lea D, Flood CH (2014) OOPSLA, "Fast
// splittable pseudorandom number generators".
func mix64(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// antithetic fills draws with pairs of a normal and its negative, times sd(i).
func antithetic(rng *rand.Rand, draws []float64, sd func(i int) float64) {
	for i := 0; i+1 < len(draws); i += 2 {
		x := rng.NormFloat64()
		draws[i], draws[i+1] = x*sd(i), -x*sd(i+1)
	}
}
