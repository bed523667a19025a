package film

import (
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"
)

// ParseFragment reads the temporal dimension of a media fragment, the part of an
// address behind '#', by W3C Media Fragments URI 1.0 (basic): t=3,7 or t=3 or
// t=,7, with times as seconds, mm:ss or h:mm:ss, "npt:" before them or not. An
// end of +Inf means to the end of the film. Of several time fragments the last
// valid one counts; names it does not know are skipped. A fragment without a
// valid time is an error: by the recommendation the whole film is meant then.
func ParseFragment(fragment string) (start, end float64, err error) {
	err = fmt.Errorf("media fragment %q has no valid time; want t=start,end in seconds", fragment)
	for pair := range strings.SplitSeq(fragment, "&") {
		name, value, found := strings.Cut(pair, "=")
		if !found || decoded(name) != "t" {
			continue
		}
		if s, e, ok := interval(decoded(value)); ok {
			start, end, err = s, e, nil
		}
	}
	return start, end, err
}

// decoded undoes percent-encoding; what cannot be decoded matches nothing.
func decoded(text string) string {
	plain, err := url.PathUnescape(text)
	if err != nil {
		return ""
	}
	return plain
}

// interval reads the value of a time fragment. The start must lie before the end.
func interval(value string) (start, end float64, ok bool) {
	from, to, both := strings.Cut(strings.TrimPrefix(value, "npt:"), ",")
	start, end = 0, math.Inf(1)
	if from != "" {
		if start, ok = normalPlayTime(from); !ok {
			return 0, 0, false
		}
	} else if !both {
		return 0, 0, false
	}
	if both {
		if end, ok = normalPlayTime(to); !ok {
			return 0, 0, false
		}
	}
	return start, end, start < end
}

// normalPlayTime reads seconds, mm:ss or h:mm:ss, each with decimals or a bare
// point behind the seconds; minutes and seconds beside others have two digits and
// run to 59, hours have any number of digits.
func normalPlayTime(text string) (float64, bool) {
	whole, decimals, _ := strings.Cut(text, ".")
	if !digits(decimals) {
		return 0, false
	}
	parts := strings.Split(whole, ":")
	if len(parts) > 3 {
		return 0, false
	}
	seconds := 0.0
	for i, part := range parts {
		first := i == 0 && len(parts) != 2 // plain seconds or hours
		if part == "" || !digits(part) || (!first && (len(part) != 2 || part > "59")) {
			return 0, false
		}
		n, err := strconv.ParseFloat(part, 64)
		if err != nil {
			return 0, false
		}
		seconds = seconds*60 + n
	}
	if decimals != "" {
		fraction, err := strconv.ParseFloat("0."+decimals, 64)
		if err != nil {
			return 0, false
		}
		seconds += fraction
	}
	return seconds, !math.IsInf(seconds, 0)
}

func digits(text string) bool {
	return strings.Trim(text, "0123456789") == ""
}
