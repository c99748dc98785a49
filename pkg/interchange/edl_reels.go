package interchange

import (
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// reelWidth is how many letters a reel name of the old lists has.
const reelWidth = 8

// blackReel and blackWord stand for no source at all; auxReel for a source
// without timecode or name.
const (
	blackReel = "BL"
	blackWord = "BLACK"
	auxReel   = "AX"
)

// edlReels gives each reel a name of up to 8 capital letters and digits,
// unique in the list. Names that are so already keep it; of the others, the
// one that comes first gets the plain shortening.
func edlReels(reels []string) map[string]string {
	short := make(map[string]string, len(reels))
	taken := map[string]bool{blackReel: true, blackWord: true}
	for _, r := range reels {
		if r != "" && r == shorten(r) && !taken[r] {
			short[r] = r
			taken[r] = true
		}
	}
	for _, r := range reels {
		if _, done := short[r]; done {
			continue
		}
		name := shorten(r)
		for n := 1; taken[name] || name == ""; n++ {
			tail := strconv.Itoa(n)
			head := shorten(r)
			if head == "" {
				head = "REEL"
			}
			name = head[:min(len(head), reelWidth-len(tail))] + tail
		}
		short[r] = name
		taken[name] = true
	}
	return short
}

// ShortReel is the name of a reel in lists that hold 8 letters: its first 8
// ASCII letters and digits, in capitals, accents taken off. Where two reels of
// one list have the same, a number ends the later ones.
func ShortReel(reel string) string { return shorten(reel) }

// shorten keeps the first 8 ASCII letters and digits, in capitals, accents
// taken off.
func shorten(reel string) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(reel) {
		r = unicode.ToUpper(r)
		if r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			b.WriteRune(r)
		}
		if b.Len() == reelWidth {
			break
		}
	}
	return b.String()
}

// asciiFold brings a text down to ASCII for readers that know nothing else.
func asciiFold(s string) string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(s) {
		switch {
		case r < 0x80:
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r):
		case strings.ContainsRune("‘’‚‛′", r):
			b.WriteByte('\'')
		case strings.ContainsRune("“”„‟″«»", r):
			b.WriteByte('"')
		case unicode.Is(unicode.Pd, r) || r == '−':
			b.WriteByte('-')
		case r == 'ß':
			b.WriteString("ss")
		case strings.ContainsRune("æÆœŒøØłŁ", r):
			b.WriteString(map[rune]string{'æ': "ae", 'Æ': "AE", 'œ': "oe", 'Œ': "OE", 'ø': "o", 'Ø': "O", 'ł': "l", 'Ł': "L"}[r])
		default:
			b.WriteByte('?')
		}
	}
	return b.String()
}
