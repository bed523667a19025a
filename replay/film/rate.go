package film

import (
	"fmt"
	"math"
	"strings"
)

// Rate is a frame rate and the way its frames are numbered. The zero Rate is no
// rate; get one from [ParseRate].
type Rate struct {
	name     string
	num, den int64 // frames a second, exactly num/den
	count    int64 // frame labels a second: 30 for 29.97
	drop     int64 // labels left out at each minute but every tenth
}

// rates are the rates of SMPTE ST 12-1 and, above 30 frames a second, their
// doubles, labelled 0 to 49 or 59 as editors do (common practice, no source).
var rates = []Rate{
	{"23.976", 24000, 1001, 24, 0},
	{"24", 24, 1, 24, 0},
	{"25", 25, 1, 25, 0},
	{"29.97-drop", 30000, 1001, 30, 2},
	{"29.97-non-drop", 30000, 1001, 30, 0},
	{"30", 30, 1, 30, 0},
	{"50", 50, 1, 50, 0},
	{"59.94-drop", 60000, 1001, 60, 4},
	{"59.94-non-drop", 60000, 1001, 60, 0},
	{"60", 60, 1, 60, 0},
}

// ParseRate finds a rate by its name; [RateNames] lists them.
func ParseRate(name string) (Rate, error) {
	for _, r := range rates {
		if r.name == name {
			return r, nil
		}
	}
	return Rate{}, fmt.Errorf("frame rate %q is not known; want one of %s", name, strings.Join(RateNames(), ", "))
}

// RateNames lists the known rates, slowest first.
func RateNames() []string {
	names := make([]string, len(rates))
	for i, r := range rates {
		names[i] = r.name
	}
	return names
}

// String is the rate's name, as [ParseRate] reads it.
func (r Rate) String() string { return r.name }

// PerSecond is the rate in frames a second, 29.97002997... for 30000/1001.
func (r Rate) PerSecond() float64 { return float64(r.num) / float64(r.den) }

// longest is more than any film, in seconds; frame numbers up to here fit the
// arithmetic below.
const longest = 1e6

// Frame is the number of the frame that begins nearest a film time, the first
// being 0. The time is taken to the nearest microsecond and the rest is integer
// arithmetic, so that no frame slips over a long film. Times before the start
// count as 0, times beyond a million seconds as that.
func (r Rate) Frame(seconds float64) int64 {
	micros := int64(math.Round(math.Max(0, math.Min(seconds, longest)) * 1e6))
	unit := 1_000_000 * r.den
	return (2*micros*r.num + unit) / (2 * unit)
}

// Seconds is the film time at which a frame begins.
func (r Rate) Seconds(frame int64) float64 { return float64(frame*r.den) / float64(r.num) }

func (r Rate) valid() error {
	if r.num == 0 {
		return fmt.Errorf("no frame rate given; want one of %s", strings.Join(RateNames(), ", "))
	}
	return nil
}
