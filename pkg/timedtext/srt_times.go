package timedtext

import (
	"regexp"
	"strings"

	"rushlight/pkg/timecode"
)

// times reads a line with two times and an arrow. Text with an arrow in it is
// not an error, a line that begins like a time is.
func (s *srtReader) times(line string, n int) (t srtSpan, ok bool, err error) {
	told := len(s.doc.Repairs)
	t, ok, err = s.plainTimes(line, n)
	if ok && err == nil {
		return t, ok, err
	}
	mended, looks := mendTimes(line)
	if !looks || mended == line {
		return t, ok, err
	}
	if m, ok, mendErr := s.plainTimes(mended, n); ok && mendErr == nil {
		for _, r := range s.doc.Repairs[told:] {
			delete(s.told, r.What)
		}
		s.doc.Repairs = s.doc.Repairs[:told]
		s.repairOnce(n, "times written with other signs, spaces or letters: read as "+quoteShort(mended))
		return m, true, nil
	}
	return t, ok, err
}

// srtSpan is what a line of times says; after is what follows them.
type srtSpan struct {
	in, out timecode.Ticks
	known   bool // the in was understood
	open    bool // there is no out
	after   string
}

// plainTimes reads times as most files have them.
func (s *srtReader) plainTimes(line string, n int) (t srtSpan, ok bool, err error) {
	i := strings.IndexByte(line, '>')
	if i < 2 {
		return t, false, nil
	}
	left := strings.TrimSpace(strings.TrimRight(line[:i], "-=–—"))
	right := strings.TrimLeft(line[i+1:], " \t\u00a0")
	if len(left) == i || strings.TrimLeft(line[:i], "0123456789:.,;- \t–—=\u00a0") != "" || strings.IndexByte(left, ':') < 0 && strings.IndexByte(left, '.') < 0 && strings.IndexByte(left, ',') < 0 {
		return t, false, nil
	}
	if j := strings.IndexFunc(right, func(r rune) bool { return !strings.ContainsRune("0123456789:.,;-", r) }); j >= 0 {
		right, t.after = right[:j], strings.TrimSpace(right[j:])
	}
	if t.in, err = s.srtTime(left, n); err != nil {
		return t, true, err
	}
	t.known = true
	if right == "" && t.after == "" {
		s.repair(n, "no time after the arrow: the cue ends where the next begins")
		t.open, t.out = true, NoTime
		return t, true, nil
	}
	if t.out, err = s.srtTime(right, n); err != nil {
		return t, true, err
	}
	if !strings.HasSuffix(line[:i], " --") || !strings.HasPrefix(line[i+1:], " ") {
		s.repairOnce(n, "arrow written otherwise than \" --> \" between the times")
	}
	return t, true, nil
}

// fullWidth turns signs of East Asian width, and arrows, into those of ASCII.
var fullWidth = strings.NewReplacer(
	"：", ":", "，", ",", "．", ".", "＞", ">", "－", "-", "０", "0", "１", "1", "２", "2", "３", "3", "４", "4", "５", "5", "６", "6", "７", "7", "８", "8", "９", "9",
	"→", "-->", "⟶", "-->", "➔", "-->", "➜", "-->", "⇒", "-->", "&gt;", ">",
)

// clockLike is a time as it is met: letters for figures, spaces about the
// signs, an apostrophe for the comma.
const clockLike = `-?[0-9OoIl]{1,4}(?:\s*[:.,;'’]\s*[0-9OoIl]{1,6})+`

var srtTimesLike = regexp.MustCompile(`^\s*(` + clockLike + `)\s*(?:-\s?-?\s?|=|–|—)>\s*(?:(` + clockLike + `)(?:\s+(.*))?)?$`)

// mendTimes writes a line of times as it should be. ok is false for a line
// that doesn't look like one.
func mendTimes(line string) (mended string, ok bool) {
	if !strings.ContainsAny(line, ">＞→⟶➔➜⇒") && !strings.Contains(line, "&gt;") {
		return "", false // nearly every line
	}
	m := srtTimesLike.FindStringSubmatch(fullWidth.Replace(stripMarks(line)))
	if m == nil || !strings.ContainsAny(m[1], "0123456789") {
		return "", false
	}
	mended = mendClock(m[1]) + " --> " + mendClock(m[2])
	if m[3] != "" {
		mended += " " + m[3]
	}
	return mended, true
}

var clockLetters = strings.NewReplacer("O", "0", "o", "0", "I", "1", "l", "1", "'", ",", "’", ",", " ", "", "\t", "", "\u00a0", "")

// mendClock writes one time as hours, minutes, seconds and one fraction.
func mendClock(v string) string {
	v = clockLetters.Replace(v)
	if i := strings.LastIndexByte(v, ';'); i >= 0 && len(v)-i == 4 {
		v = v[:i] + "," + v[i+1:]
	}
	if i := strings.IndexAny(v, ".,"); i >= 0 && strings.Count(v, ":") == 2 {
		if j := strings.IndexAny(v[i+1:], ".,"); j >= 0 {
			v = v[:i+1+j] // a second fraction
		}
	}
	return v
}

// stripMarks takes away the marks that only say which way text runs, and byte
// order marks.
func stripMarks(s string) string {
	return strings.Map(func(r rune) rune {
		if isMark(r) {
			return -1
		}
		return r
	}, s)
}

// isMark tells a character that is not seen (Unicode's bidirectional controls,
// UAX #9, and the byte order mark).
func isMark(r rune) bool {
	return r == '\u200e' || r == '\u200f' || r == '\u061c' || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069' || r == '\ufeff'
}
