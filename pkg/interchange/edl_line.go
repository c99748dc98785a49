package interchange

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// edlLine is one numbered line of a list, in its columns.
type edlLine struct {
	number      int
	reel, track string
	kind        string // C, D, W, K
	code        string // of a wipe or key
	frames      int64  // of a blend
	times       [4]string
}

var (
	timecodeColumn = regexp.MustCompile(`^\d{1,2}[:;.,]\d{1,2}[:;.,]\d{1,2}[:;.,]\d{1,3}$`)
	wipeColumn     = regexp.MustCompile(`^W(\d{1,3})$`)
	keyColumn      = regexp.MustCompile(`^K[BO]?$`)
	digits         = regexp.MustCompile(`^\d{1,6}$`)
)

// isEvent tells whether a line means to be a numbered event: it starts with a
// number and holds something like a timecode.
func isEvent(fields []string) bool {
	if len(fields) < 3 || !digits.MatchString(fields[0]) {
		return false
	}
	for _, f := range fields[1:] {
		if strings.Count(f, ":")+strings.Count(f, ";") >= 2 {
			return true
		}
	}
	return false
}

// parseEvent reads number, reel, track, kind, [frames] and four timecodes.
// Columns are told by white space; a reel name may hold spaces, since the
// columns are found from the right.
func parseEvent(fields []string) (edlLine, error) {
	var e edlLine
	n := len(fields) - 4
	for i := range e.times {
		if n+i < 0 || !timecodeColumn.MatchString(fields[max(n+i, 0)]) {
			return e, fmt.Errorf("event %s: want four timecodes at the end of the line", fields[0])
		}
		e.times[i] = fields[n+i]
	}
	e.number, _ = strconv.Atoi(fields[0]) // at most six digits: see isEvent
	rest := fields[1:max(n, 1)]
	at := -1
	for i := len(rest) - 1; i >= 1 && at < 0; i-- {
		w := strings.ToUpper(rest[i])
		switch {
		case w == "C" || w == "D":
			e.kind, at = w, i
		case wipeColumn.MatchString(w):
			e.kind, e.code, at = "W", w[1:], i
		case keyColumn.MatchString(w):
			e.kind, e.code, at = "K", w[1:], i
		case !digits.MatchString(w) && w != "B" && w != "O" && w != "(F)":
			return e, fmt.Errorf("event %s: got %q before the timecodes, want C, D, W or K", fields[0], rest[i])
		}
	}
	if at < 2 {
		return e, fmt.Errorf("event %s: want reel, track and C, D, W or K before the timecodes", fields[0])
	}
	for _, w := range rest[at+1:] {
		if digits.MatchString(w) {
			e.frames, _ = strconv.ParseInt(w, 10, 64)
		} else if e.kind == "K" {
			e.code = strings.ToUpper(strings.Trim(w, "()"))
		}
	}
	e.reel = strings.Join(rest[:at-1], " ")
	e.track = strings.ToUpper(rest[at-1])
	return e, nil
}

// splitComment takes the star off a comment, makes its white space single
// spaces and divides it at its first colon; key is "" if it has none.
func splitComment(line string) (text, key, value string) {
	text = flat(strings.TrimPrefix(strings.TrimSpace(line), "*"))
	k, v, ok := strings.Cut(text, ":")
	if !ok {
		return text, "", ""
	}
	return text, strings.ToUpper(strings.Join(strings.Fields(k), " ")), strings.TrimSpace(v)
}
