package sound

import (
	"encoding/binary"
	"math"
	"strings"
	"unicode/utf8"
)

// Byte offsets in the bext chunk (EBU Tech 3285 v2, clause 2.3).
const (
	bextOriginator    = 256
	bextReference     = 288
	bextDate          = 320
	bextTime          = 330
	bextTimeReference = 338
	bextVersion       = 346
	bextLoudness      = 412
	bextHistory       = 602
)

// takeBroadcast reads the bext chunk; a short one as far as it goes.
func (l *layout) takeBroadcast(body int64, b []byte) error {
	if l.info.Broadcast != nil {
		l.note(body-8, "another bext chunk: left out, the first one is used")
		return nil
	}
	if len(b) < bextHistory {
		l.note(body-8, "bext chunk of %d bytes, want %d or more: read as far as it goes", len(b), bextHistory)
		b = append(b, make([]byte, bextHistory-len(b))...)
	}
	le := binary.LittleEndian
	bc := &Broadcast{
		Description:         plainText(b[:bextOriginator]),
		Originator:          plainText(b[bextOriginator:bextReference]),
		OriginatorReference: plainText(b[bextReference:bextDate]),
		Date:                stamp(b[bextDate:bextTime]),
		Time:                stamp(b[bextTime:bextTimeReference]),
		TimeReference:       le.Uint64(b[bextTimeReference:]),
		Version:             int(le.Uint16(b[bextVersion:])),
		CodingHistory:       plainText(b[bextHistory:]),
	}
	// 0x7FFF says "not set" (Tech 3285 v2, clause 2.4).
	if v := int16(le.Uint16(b[bextLoudness:])); bc.Version >= 2 && v != 0x7FFF {
		bc.LoudnessLUFS = float64(v) / 100
	}
	l.info.Broadcast, l.bextAt = bc, body-8
	return nil
}

// stamp reads a date or time: Tech 3285 allows several separators, we return
// "-" in dates and ":" in times. Blank or zero fields give "".
func stamp(b []byte) string {
	s := plainText(b)
	if strings.Trim(s, "0-:_. /") == "" && (len(b) == 10 || s == "") {
		return ""
	}
	sep := ":"
	if len(b) == 10 {
		sep = "-"
	}
	if len(s) != len(b) {
		return s
	}
	r := []byte(s)
	at := [2]int{2, 5}
	if len(b) == 10 {
		at = [2]int{4, 7}
	}
	for _, i := range at {
		if strings.IndexByte("-_:. /", r[i]) >= 0 {
			r[i] = sep[0]
		}
	}
	return string(r)
}

// plainText reads a fixed field: up to the first NUL, UTF-8 if it is valid,
// else Latin-1, spaces at the end removed.
func plainText(b []byte) string {
	for i, c := range b {
		if c == 0 {
			b = b[:i]
			break
		}
	}
	if !utf8.Valid(b) {
		b = latin1(b)
	}
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\n' && r != '\r' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, string(b)))
}

// latin1 turns ISO 8859-1 into UTF-8.
func latin1(b []byte) []byte {
	out := make([]byte, 0, len(b)+len(b)/4)
	for _, c := range b {
		out = utf8.AppendRune(out, rune(c))
	}
	return out
}

// encodeBroadcast is the body of a bext chunk, 602 bytes and the coding
// history. Text longer than its field is cut at a character.
func encodeBroadcast(bc Broadcast) []byte {
	b := make([]byte, bextHistory, bextHistory+len(bc.CodingHistory)+2)
	put := func(from, to int, s string) {
		for len(s) > to-from {
			_, n := utf8.DecodeLastRuneInString(s)
			s = s[:len(s)-n]
		}
		copy(b[from:to], s)
	}
	put(0, bextOriginator, bc.Description)
	put(bextOriginator, bextReference, bc.Originator)
	put(bextReference, bextDate, bc.OriginatorReference)
	put(bextDate, bextTime, bc.Date)
	put(bextTime, bextTimeReference, bc.Time)
	le := binary.LittleEndian
	le.PutUint64(b[bextTimeReference:], bc.TimeReference)
	le.PutUint16(b[bextVersion:], uint16(max(bc.Version, 0)))
	if bc.Version >= 2 {
		putLoudness(b, bc.LoudnessLUFS)
	}
	return append(b, bc.CodingHistory...)
}

// putLoudness fills the five loudness values; those we don't have are "not
// set".
func putLoudness(b []byte, lufs float64) {
	le := binary.LittleEndian
	for i := range 5 {
		le.PutUint16(b[bextLoudness+2*i:], 0x7FFF)
	}
	if lufs != 0 && lufs > -300 && lufs < 300 {
		le.PutUint16(b[bextLoudness:], uint16(int16(math.RoundToEven(lufs*100))))
	}
}
