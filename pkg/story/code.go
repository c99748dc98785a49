package story

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"

	"rushlight/pkg/timecode"
)

// Code is the short name of a quote: five letters and a check letter, such as
// KRTWHC (six and one where a bank is very full). It never changes.
//
// The 17 letters leave out every vowel and every letter that is misread for
// another or for a digit. 17 is prime, so that the weighted check letter finds
// every single wrong letter and every swap of two neighbours.
type Code string

// codeLetters are the letters of a code, in value order.
const codeLetters = "CDFGHJKMNPQRTVWXY"

// ErrCode is wrapped by every error about a code that cannot be one.
var ErrCode = errors.New("not a quote code")

// NewCode derives a code from what lasts: the essence hash of the recording
// (or the reel name where it has no sound) and the quote's in at creation.
// taken tells which codes are in use, nil that none is; a taken one is passed
// over in an order that depends on nothing but the arguments.
func NewCode(essence string, in timecode.Ticks, taken func(Code) bool) Code {
	for attempt := uint64(0); ; attempt++ {
		letters := 5
		if attempt >= 16 {
			letters = 6
		}
		var b [16]byte
		binary.BigEndian.PutUint64(b[:8], uint64(in))
		binary.BigEndian.PutUint64(b[8:], attempt)
		sum := sha256.Sum256(append([]byte(essence+"\x00"), b[:]...))
		n := binary.BigEndian.Uint64(sum[:8])
		digits := make([]int, letters)
		for i := range digits {
			digits[i] = int(n % uint64(len(codeLetters)))
			n /= uint64(len(codeLetters))
		}
		out := make([]byte, 0, letters+1)
		for _, d := range digits {
			out = append(out, codeLetters[d])
		}
		c := Code(append(out, codeLetters[checkDigit(digits)]))
		if taken == nil || !taken(c) {
			return c
		}
	}
}

// checkDigit makes the sum of (i+1)·digit over all letters, the check letter
// last with weight 1, divisible by 17.
func checkDigit(digits []int) int {
	sum := 0
	for i, d := range digits {
		sum += (i + 2) * d
	}
	return (len(codeLetters) - sum%len(codeLetters)) % len(codeLetters)
}

// ParseCode reads a code as typed: any case, hyphens and spaces ignored. A
// mistyped code gives an error that wraps ErrCode and names the wrong letter
// where it can.
func ParseCode(s string) (Code, error) {
	var digits []int
	var out []byte
	for _, r := range strings.ToUpper(s) {
		if r == '-' || r == ' ' {
			continue
		}
		i := strings.IndexRune(codeLetters, r)
		if i < 0 {
			return "", fmt.Errorf("%q is %w: %q is never in a code; codes use %s", s, ErrCode, r, codeLetters)
		}
		digits = append(digits, i)
		out = append(out, codeLetters[i])
	}
	if n := len(digits); n != 6 && n != 7 {
		return "", fmt.Errorf("%q is %w: it has %d letters, want 6", s, ErrCode, n)
	}
	n := len(digits) - 1
	if checkDigit(digits[:n]) != digits[n] {
		return "", fmt.Errorf("%q is %w: its check letter does not fit; one letter is mistyped or two are swapped", s, ErrCode)
	}
	return Code(out), nil
}
