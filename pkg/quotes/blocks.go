package quotes

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Gaps between cues that end a sentence which no full stop ended.
const (
	// gapBreak is a silence too long to be within a saying.
	gapBreak = 2 * timecode.Second
	// gapInside is what may still lie within one when the next words plainly
	// go on (a small letter).
	gapInside = 6 * timecode.Second
	// gapHeard ends one before a capital, where it was heard and the cues, at
	// gapCues apart at least, show it too.
	gapHeard = timecode.Second
	gapCues  = 700 * timecode.Millisecond
	// gapLoose ends a sentence in text without full stops.
	gapLoose = 700 * timecode.Millisecond
)

// longestBlock is how many bytes a block may have, about two and a half hours
// of talk, so that text without an end takes no time without one.
const longestBlock = 128 << 10

// block is text of one speaker that runs on without a sure break.
type block struct {
	speaker string
	text    string
	pieces  []piece
	words   []timedWord
}

// piece is the part of a block's text that one cue gave.
type piece struct{ cue, start, end int }

// timedWord is a word with its time, at its place in the block's text.
type timedWord struct {
	start, end int
	text       string
	timecode.Span
}

// weave joins the cues' text into blocks.
type weave struct {
	f   *flow
	cur block
	// cue is the cue at work, line tells that a new line begins.
	cue     int
	newLine bool
	// spaced tells that the last run ended in white space.
	spaced bool
	// heardTurn is who holds the turn of the last cue, "" if not told.
	heardTurn string
	// labelled tells that the document names speakers at all.
	labelled bool
}

func (f *flow) makeBlocks() {
	w := &weave{f: f, labelled: named(f.doc)}
	// Where a speaker is a label in the text, people write it at the first cue
	// of a turn only.
	carry := slices.Contains([]timedtext.Format{
		timedtext.SRT, timedtext.PlainText, timedtext.STL, timedtext.DOCX, timedtext.ODT, timedtext.HTML,
	}, f.doc.Format)
	speaker := ""
	for i := range f.cues {
		if f.ctx.Err() != nil {
			return
		}
		w.cue = i
		w.gap()
		dashes := dashed(f.cues[i].lines)
		for _, line := range f.cues[i].lines {
			w.newLine = true
			for j, run := range line {
				who := tidy(run.Speaker)
				if who == "" && (carry || !w.ended()) {
					who = speaker
				}
				text := run
				if dashes && j == 0 {
					if rest, ok := dash(run.Text); ok || run.Dash {
						text.Text = rest
						w.flush()
						if run.Speaker == "" {
							who = ""
						}
					}
				}
				speaker = who
				w.add(text, who)
			}
		}
	}
	w.flush()
}

// named tells whether a document names any speaker.
func named(doc *timedtext.Document) bool {
	for _, c := range doc.Cues {
		if c.Speaker() != "" {
			return true
		}
	}
	return false
}

// gap ends the block before the cue at work if the time between them, or a
// change of the heard speaker, is a break.
func (w *weave) gap() {
	c := w.f.cues[w.cue]
	turn := ""
	if w.f.src.Heard != nil && !w.labelled {
		turn = turnAt(w.f.src.Heard.Turns, c.Span, 0.7)
	}
	before := w.heardTurn
	w.heardTurn = turn
	if len(w.cur.text) > longestBlock {
		w.flush() // no cue of hours ended a sentence
	}
	if len(w.cur.pieces) == 0 || w.ended() {
		if len(w.cur.text) > 4096 && !abbreviated(w.cur.text, w.f.language) {
			w.flush()
		}
		return
	}
	prev := w.f.cues[w.cur.pieces[len(w.cur.pieces)-1].cue]
	gap := c.In - prev.Out
	if prev.coarse || prev.open {
		gap = 0
	}
	if n := len(w.cur.words); n > 0 {
		gap = c.In - w.cur.words[n-1].Out
	}
	// Without full stops there are mostly no capitals to tell by.
	onward := !w.f.loose && goesOn(w.cur.text, plain(c.lines))
	switch {
	case gap >= gapInside,
		gap >= gapBreak && !onward,
		gap >= gapCues && !onward && w.f.quiet.length(c.In) >= gapHeard && w.anew(plain(c.lines)),
		gap >= gapLoose && w.f.loose,
		turn != before && turn != "" && before != "" && !onward:
		w.flush()
	}
}

// anew tells whether next can begin a sentence by its capital, and the block so
// far doesn't break off at a word that nobody stops at. In German, nouns have
// capitals too.
func (w *weave) anew(next string) bool {
	last := strings.ToLower(trimSigns(lastWord(w.cur.text)))
	return unicode.IsUpper(firstLetter(next)) && w.f.language != "de" &&
		!isLink(last, w.f.language) && !isFiller(last, w.f.language)
}

// ended tells whether the block so far ends a sentence.
func (w *weave) ended() bool {
	return w.cur.text == "" || ends(w.cur.text)
}

func (w *weave) flush() {
	if strings.TrimSpace(w.cur.text) != "" {
		w.f.blocks = append(w.f.blocks, w.cur)
	}
	w.cur = block{}
}

// add joins a run to the block, or begins another where the speaker changes.
func (w *weave) add(run timedtext.Run, speaker string) {
	text := tidy(run.Text)
	if text == "" && len(run.Words) > 0 {
		parts := make([]string, 0, len(run.Words))
		for _, word := range run.Words {
			parts = append(parts, strings.TrimSpace(word.Text))
		}
		text = tidy(strings.Join(parts, " "))
	}
	if text == "" {
		w.spaced = w.spaced || run.Text != ""
		return
	}
	if w.cur.text != "" && !strings.EqualFold(speaker, w.cur.speaker) {
		w.flush()
	}
	if w.cur.text == "" {
		w.cur.speaker = speaker
	}
	w.cur.text += w.joint(run.Text, text)
	start := len(w.cur.text)
	w.cur.text += text
	w.newLine, w.spaced = false, endsSpaced(run.Text)
	if n := len(w.cur.pieces); n > 0 && w.cur.pieces[n-1].cue == w.cue {
		w.cur.pieces[n-1].end = len(w.cur.text)
	} else {
		w.cur.pieces = append(w.cur.pieces, piece{w.cue, start, len(w.cur.text)})
	}
	w.addWords(run.Words, start)
}

// joint is what stands between the block so far and text: a space, but
// nothing inside a word, in scripts without spaces, and after a hyphen at the
// end of a line.
func (w *weave) joint(raw, text string) string {
	before := w.cur.text
	if before == "" {
		return ""
	}
	last, _ := utf8.DecodeLastRuneInString(before)
	first, _ := utf8.DecodeRuneInString(text)
	n := len(w.cur.pieces)
	sameCue := n > 0 && w.cur.pieces[n-1].cue == w.cue
	switch {
	case sameCue && !w.newLine:
		r, _ := utf8.DecodeRuneInString(raw)
		if !unicode.IsSpace(r) && !w.spaced {
			return ""
		}
		return " "
	case unspaced(last) && unspaced(first):
		return ""
	case sameCue && last == '-' && unicode.IsLower(first) && letterBefore(before):
		return ""
	}
	return " "
}

func endsSpaced(s string) bool {
	r, _ := utf8.DecodeLastRuneInString(s)
	return unicode.IsSpace(r)
}

// addWords finds the timed words of a run in the text from start on. A word
// that isn't there keeps no time; the text stays as it is.
func (w *weave) addWords(words []timedtext.Word, start int) {
	at := start
	c := w.f.cues[w.cue]
	for i, word := range words {
		t := tidy(word.Text)
		if t == "" || word.In == timedtext.NoTime {
			continue
		}
		j, size := findWord(w.cur.text[at:], t)
		if j < 0 {
			continue
		}
		s := timecode.Span{In: word.In + c.shift, Out: word.Out + c.shift}
		if word.Out == timedtext.NoTime {
			s.Out = c.Out
			if i+1 < len(words) && words[i+1].In > word.In {
				s.Out = words[i+1].In + c.shift
			}
		}
		if n := len(w.cur.words); n > 0 {
			s.In = max(s.In, w.cur.words[n-1].In)
		}
		s.Out = max(s.Out, s.In)
		w.cur.words = append(w.cur.words, timedWord{at + j, at + j + size, w.cur.text[at+j : at+j+size], s})
		at += j + size
	}
}

// wordReach is how far ahead a timed word is looked for in its text: the two
// should run side by side.
const wordReach = 80

// findWord finds a word in the text ahead: where it stands and how long it is
// there. It must stand alone, but in scripts without spaces; case and the
// signs about it may differ. Not found is −1.
func findWord(text, word string) (at, size int) {
	if len(text) > wordReach+len(word) {
		text = text[:wordReach+len(word)]
	}
	if i := alone(text, word); i >= 0 {
		return i, len(word)
	}
	bare := trimSigns(word)
	if bare == "" {
		return -1, 0
	}
	if i := alone(text, bare); i >= 0 {
		return i, len(bare)
	}
	low := strings.ToLower(text)
	if i := alone(low, strings.ToLower(bare)); i >= 0 && len(low) == len(text) {
		return i, len(strings.ToLower(bare))
	}
	return -1, 0
}

// alone finds a word that doesn't stand inside another.
func alone(text, word string) int {
	for from := 0; ; {
		i := strings.Index(text[from:], word)
		if i < 0 {
			return -1
		}
		i += from
		before, _ := utf8.DecodeLastRuneInString(text[:i])
		after, _ := utf8.DecodeRuneInString(text[i+len(word):])
		first, _ := utf8.DecodeRuneInString(word)
		last, _ := utf8.DecodeLastRuneInString(word)
		if !(inWord(before) && inWord(first)) && !(inWord(last) && inWord(after)) {
			return i
		}
		_, n := utf8.DecodeRuneInString(text[i:])
		from = i + n
	}
}

// inWord tells whether a letter or digit goes on a word of a script that has
// spaces.
func inWord(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r)) && !unspaced(r)
}

// tidy makes every run of white space one space and trims the ends.
func tidy(s string) string { return strings.Join(strings.Fields(s), " ") }

// dashed tells whether the lines of a cue are a dialogue in dashes.
func dashed(lines []timedtext.Line) bool {
	n := 0
	for _, l := range lines {
		if _, ok := dash(l.Plain()); ok || len(l) > 0 && l[0].Dash {
			n++
		}
	}
	return n > 1 || n == 1 && len(lines) > 1
}

// dash takes the dash of a dialogue line off its beginning.
func dash(s string) (string, bool) {
	t := strings.TrimLeftFunc(s, unicode.IsSpace)
	for _, d := range []string{"-", "–", "—", "‐", "‑"} {
		rest, ok := strings.CutPrefix(t, d)
		if !ok {
			continue
		}
		r, _ := utf8.DecodeRuneInString(strings.TrimLeft(rest, " "))
		if unicode.IsLetter(r) || unicode.IsPunct(r) && r != '-' || unicode.IsDigit(r) && strings.HasPrefix(rest, " ") {
			return rest, true
		}
	}
	return s, false
}

// unspaced tells whether a letter belongs to a script written without spaces
// between words.
func unspaced(r rune) bool {
	return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Thai, unicode.Lao, unicode.Khmer, unicode.Myanmar) ||
		r >= 0x3000 && r <= 0x303f || r >= 0xff01 && r <= 0xff65 || r == 'ー'
}

// letterBefore tells whether a letter stands before the last byte.
func letterBefore(s string) bool {
	r, _ := utf8.DecodeLastRuneInString(s[:len(s)-1])
	return unicode.IsLetter(r)
}

// goesOn tells whether next plainly continues text: it begins with a small
// letter, or text ends in a comma or a hyphen.
func goesOn(text, next string) bool {
	if strings.HasSuffix(text, ",") || strings.HasSuffix(text, "-") {
		return true
	}
	for _, r := range next {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.IsLower(r)
		}
	}
	return false
}

// ends tells whether text ends with the mark of a finished sentence.
func ends(text string) bool {
	t := strings.TrimRightFunc(text, func(r rune) bool {
		return unicode.IsSpace(r) || strings.ContainsRune("\"'”’»)]}", r)
	})
	if strings.HasSuffix(t, "...") || strings.HasSuffix(t, "…") {
		return false
	}
	r, _ := utf8.DecodeLastRuneInString(t)
	return strings.ContainsRune(".!?。！？｡؟।", r)
}
