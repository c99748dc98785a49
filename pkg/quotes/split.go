package quotes

import (
	"strings"
	"unicode"

	"rushlight/pkg/timecode"
)

// maxWords is how long a quote may get in text without full stops.
const maxWords = 40

// minWords is what a cut by length leaves on either side at least.
const minWords = 6

// isLoose tells whether text has hardly any full stops: fewer than one in 40
// words, as speech-to-text without punctuation writes it.
func isLoose(words, stops int) bool { return stops == 0 || stops*maxWords < words }

// word is a stretch between spaces in a block, with the silence before it as
// far as it is known.
type word struct {
	start, end int
	gap        timecode.Ticks
}

// wordsOf cuts a range of a block at white space and measures the gaps.
func (f *flow) wordsOf(b *block, r Range) []word {
	var out []word
	start := -1
	for i, c := range b.text[r.Start:r.End] {
		i += r.Start
		switch {
		case unicode.IsSpace(c):
			if start >= 0 {
				out = append(out, word{start: start, end: i})
			}
			start = -1
		case start < 0:
			start = i
		}
	}
	if start >= 0 {
		out = append(out, word{start: start, end: r.End})
	}
	k, p := 0, 0
	for i := range out {
		w := &out[i]
		for k < len(b.words) && b.words[k].end <= w.start {
			k++
		}
		if k > 0 && k < len(b.words) && b.words[k].start < w.end {
			w.gap = b.words[k].In - b.words[k-1].Out
			continue
		}
		for p < len(b.pieces) && b.pieces[p].start < w.start {
			p++
		}
		if i > 0 && p > 0 && p < len(b.pieces) && b.pieces[p].start == w.start {
			prev := f.cues[b.pieces[p-1].cue]
			if !prev.open {
				w.gap = max(w.gap, f.cues[b.pieces[p].cue].In-prev.Out)
			}
			// An edge of a cue is a better place than none.
			w.gap = max(w.gap, 50*timecode.Millisecond)
			if f.loose {
				w.gap = max(w.gap, f.quiet.length(f.cues[b.pieces[p].cue].In))
			}
		}
	}
	return out
}

// splits cuts one sentence further: at silences too long to lie within one,
// and by length where there are no full stops.
func (f *flow) splits(b *block, r Range) []Range {
	words := f.wordsOf(b, r)
	var out []Range
	from := 0
	for i := 1; i < len(words); i++ {
		gap := words[i].gap
		onward := goesOn(b.text[words[i-1].start:words[i-1].end], b.text[words[i].start:words[i].end])
		if gap >= gapInside || gap >= gapBreak && !onward || gap >= gapLoose && f.loose {
			out = f.byLength(b, words[from:i], out)
			from = i
		}
	}
	if from < len(words) {
		out = f.byLength(b, words[from:], out)
	}
	return out
}

// byLength cuts words without full stops to maxWords at most, at the longest
// silence, before a word that joins clauses, near the middle.
func (f *flow) byLength(b *block, words []word, out []Range) []Range {
	n := len(words)
	if !f.loose || n <= maxWords {
		return append(out, Range{words[0].start, words[n-1].end})
	}
	best, at := -1.0, n/2
	for i := minWords; i <= n-minWords; i++ {
		score := 4 * min(words[i].gap.Seconds(), 1)
		if joinsClauses(b.text[words[i].start:words[i].end], f.language) {
			score += 0.6
		}
		if strings.HasSuffix(b.text[:words[i-1].end], ",") {
			score += 0.5
		}
		off := float64(2*i-n) / float64(n)
		score += 0.8 * (1 - off*off)
		if score > best {
			best, at = score, i
		}
	}
	return f.byLength(b, words[at:], f.byLength(b, words[:at], out))
}

// joiners are words that begin a clause.
var joiners = map[string]string{
	"en": " and but so because then when while although or ",
	"de": " und aber weil dann wenn also denn oder da ",
	"fr": " et mais parce alors quand donc puis ou ",
	"es": " y pero porque entonces cuando o luego ",
	"nl": " en maar omdat dan toen want of dus ",
	"it": " e ma perché allora quando quindi poi o ",
	"pt": " e mas porque então quando ou depois ",
}

func joinsClauses(w, language string) bool { return has(joiners, base(language), trimSigns(w)) }
