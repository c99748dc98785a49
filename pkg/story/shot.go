package story

import (
	"cmp"
	"strings"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// Shot is where a recording lies in the shoot.
type Shot struct {
	// Day is that of the recording, "" if it isn't known.
	Day   string
	Start timecode.Ticks
	Reel  string
}

// Shot is where the recording lies in the shoot.
func (r Recording) Shot() Shot { return Shot{r.Day, r.Clock.Start, r.Reel} }

// Shot is where the quote's recording lies in the shoot.
func (q Quote) Shot() Shot { return Shot{q.Day, q.Clock.Start, q.Reel} }

// CompareShots is the order of shooting: by day, those without one first, then
// by start timecode, then by name. Negative for the first before the second.
func CompareShots(a, b Shot) int {
	return cmp.Or(CompareNames(a.Day, b.Day), cmp.Compare(a.Start, b.Start),
		CompareNames(strings.ToLower(a.Reel), strings.ToLower(b.Reel)), strings.Compare(a.Reel, b.Reel))
}

// CompareNames compares names with runs of digits as numbers: D2 comes before
// D10. Names that differ only in zeros before a number are alike to it.
func CompareNames(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da > 0 && db > 0 {
			x, y := strings.TrimLeft(a[:da], "0"), strings.TrimLeft(b[:db], "0")
			if c := cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(x, y)); c != 0 {
				return c
			}
			a, b = a[da:], b[db:]
			continue
		}
		ra, na := utf8.DecodeRuneInString(a)
		rb, nb := utf8.DecodeRuneInString(b)
		if ra != rb {
			return cmp.Compare(ra, rb)
		}
		a, b = a[na:], b[nb:]
	}
	return cmp.Compare(len(a), len(b))
}

// digits is the length of the run of digits at the start.
func digits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}
