package quotes

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Belonging says whether the words of a transcript fit the sound where its
// times put them, better than they would fit it anywhere else.
type Belonging struct {
	// Fit is the mean confidence of the quotes (see Confidence) as the times
	// stand; Chance and Spread are mean and standard deviation of what it is
	// over the same sound turned backwards.
	Fit, Chance, Spread float64
	// Doubtful tells that Fit is no better than by chance, in talk with pauses
	// enough to tell, and no better than at other places.
	Doubtful bool
	// Offset is to be added to the times for the words to fit, where that is
	// beyond chance; 0 where they fit as they stand or nowhere.
	Offset timecode.Ticks
	// Rate is "25 read as 24" where the words would fit if the times counted
	// frames of another rate, else "".
	Rate string
	// Astray is the share of the quotes, 0 to 1, whose neighbourhood fits no
	// better than by chance.
	Astray float64
	// floor is the confidence that half a dozen neighbours reach by chance.
	floor float64
}

// Constants of the test; values chosen on built talks (see the tests), but for
// the number of standard deviations: a chance of one in a thousand, and of one
// in a million, if they are those of a normal law.
const (
	belongTries   = 12    // mirror images
	belongLeast   = 12    // quotes that tell something
	belongMost    = 300   // quotes that are looked at, about
	belongSure    = 0.8   // a mean confidence that needs no search
	belongMany    = 24    // quotes that it takes to doubt all
	belongPauses  = 0.5   // pauses a quote that it takes for that
	belongPaused  = 1.0   // pauses a quote with which chance is known
	belongClear   = 3.0   // standard deviations above chance
	belongNone    = 1.0   // the same below which it is chance
	belongRank    = 0.98  // share of other places that must fit worse if between,
	belongRanked  = 0.9   // and with few pauses
	belongFits    = 0.7   // mean confidence that another place must have
	belongMoved   = 5.0   // the same for another place
	belongGain    = 3.0   // standard deviations that it must be better
	belongReach   = 60    // seconds to both sides
	belongNear    = 6     // the same where the words fit in part
	belongAround  = 6     // neighbours to both sides of a quote
	belongDoubted = 1.5   // standard deviations that they must be above chance where all is in doubt
	belongLost    = 0.45  // of its confidence is what a doubted quote keeps
	belongSame    = 0.005 // difference in mean confidence that is none
	// belongOwn is what the edges of cues find by themselves.
	belongOwn = 1500 * timecode.Millisecond
	// belongApart is from where on another place is another one.
	belongApart = 5 * timecode.Second
)

// Belongs tells whether a transcript belongs to the sound; ok is false where
// too little is known: few quotes, or nothing heard.
// Cost: 13 times that of Build for up to 300 quotes, 240 times more where they
// don't fit.
func Belongs(ctx context.Context, src Source) (b Belonging, ok bool) {
	if src.Document == nil || src.Heard == nil || len(src.Heard.Speech) == 0 {
		return b, false
	}
	src.Taken = nil
	src.Document = wordless(beginning(src.Document))
	list := builtWith(ctx, src, Drift{})
	if len(list) < belongLeast {
		return b, false
	}
	sure, pauses := Confidence(list, src.Heard), paused(list, src.Heard)/float64(len(list))
	b.Fit = mean(sure)
	var means, around []float64
	for k := range timecode.Ticks(belongTries) {
		other := src
		other.Heard = mirrored(src.Heard, k*src.Heard.Duration/belongTries)
		if v, ok := sureAt(ctx, other, 0); ok {
			means = append(means, mean(v))
			around = append(around, neighbours(v)...)
		}
	}
	if len(means) < belongTries/2 {
		return b, false
	}
	b.Chance, b.Spread = mean(means), max(0.01, deviation(means))
	reach := int64(belongNear)
	unclear := b.above(b.Fit) < belongClear
	if b.Doubtful = unclear; unclear {
		reach = belongReach
	}
	if b.Doubtful || b.Fit < belongSure {
		sure = b.seek(ctx, src, reach, sure, pauses)
	}
	if b.Doubtful = b.Doubtful && len(sure) >= belongMany && pauses >= belongPauses; b.Doubtful {
		b.rate(ctx, src)
	}
	if unclear && b.Offset == 0 && !b.Doubtful {
		return b, ctx.Err() == nil // nothing is known of any quote
	}
	b.floor = mean(around)
	if b.Doubtful {
		b.floor += belongDoubted * deviation(around)
	}
	for _, v := range neighbours(sure) {
		if v < b.floor {
			b.Astray += 1 / float64(len(sure))
		}
	}
	return b, ctx.Err() == nil
}

// mirrored is what would be heard of a recording that runs backwards and begins
// later, its end put before its beginning: as much speech, as many pauses, and
// nothing that the words could fit but by chance.
func mirrored(h *story.Heard, later timecode.Ticks) *story.Heard {
	m := &story.Heard{Duration: h.Duration}
	place := func(s timecode.Span) []timecode.Span {
		s.In, s.Out = h.Duration-s.Out+later, h.Duration-s.In+later
		switch {
		case s.In >= h.Duration:
			return []timecode.Span{{In: s.In - h.Duration, Out: s.Out - h.Duration}}
		case s.Out > h.Duration:
			return []timecode.Span{{Out: s.Out - h.Duration}, {In: s.In, Out: h.Duration}}
		}
		return []timecode.Span{s}
	}
	for _, s := range h.Speech {
		m.Speech = append(m.Speech, place(s)...)
	}
	for _, t := range h.Turns {
		for _, s := range place(t.Span) {
			t.Span = s
			m.Turns = append(m.Turns, t)
		}
	}
	slices.SortFunc(m.Speech, func(a, b timecode.Span) int { return cmp.Compare(a.In, b.In) })
	slices.SortFunc(m.Turns, func(a, b story.Turn) int { return cmp.Compare(a.In, b.In) })
	return m
}

// above is how many standard deviations a fit is above chance.
func (b *Belonging) above(fit float64) float64 { return (fit - b.Chance) / b.Spread }

// seek looks for the place where the words fit, so many seconds to both sides,
// and gives the confidence of the quotes there. Nothing is in doubt if they fit
// better here than elsewhere; with few pauses a quote, chance itself scatters.
func (b *Belonging) seek(ctx context.Context, src Source, reach int64, sure []float64, pauses float64) []float64 {
	var lo, hi timecode.Ticks
	top, there := b.Fit, sure
	below, others := 0, 0
	for half := -2 * reach; half <= 2*reach; half++ {
		at := timecode.Ticks(half) * timecode.Second / 2
		v, ok := sureAt(ctx, src, at)
		if !ok || 4*len(v) <= 3*len(sure) {
			continue
		}
		fit := mean(v)
		if max(at, -at) > belongApart {
			others++
			if fit < b.Fit {
				below++
			}
		}
		switch {
		case fit > top+belongSame:
			lo, hi, top, there = at, at, fit, v
		case fit > top-belongSame && at-hi <= timecode.Second/2:
			hi, top = at, max(top, fit) // as good: the edges of cues find speech by themselves
		}
	}
	best := (lo + hi) / 2
	far := b.Doubtful || max(best, -best) > belongOwn
	if b.above(top) >= belongMoved && top >= belongFits && top > b.Fit+belongGain*b.Spread && far {
		b.Doubtful, b.Offset = false, best
		return there
	}
	need := belongRank
	if pauses < belongPaused {
		need = belongRanked
	}
	if b.above(b.Fit) >= belongNone && float64(below) >= need*float64(others) {
		b.Doubtful = false
	}
	return sure
}

// paused is how many pauses were heard where quotes lie.
func paused(list []story.Quote, h *story.Heard) (n float64) {
	first, last := list[0].In, list[len(list)-1].Out
	for i, s := range h.Speech[1:] {
		if s.In > first && s.In < last && s.In-h.Speech[i].Out >= driftPause {
			n++
		}
	}
	return n
}

// rate looks for a wrong frame rate with which the words would fit.
func (b *Belonging) rate(ctx context.Context, src Source) {
	top := b.Chance + max(belongMoved*b.Spread, b.Fit-b.Chance+belongGain*b.Spread)
	try := func(num, den timecode.Ticks, what string) {
		by := Drift{PPM: 1e6 * (float64(den)/float64(num) - 1)}
		if v, ok := sureWith(ctx, src, by); ok && mean(v) > top {
			top, b.Rate = mean(v), what
		}
	}
	for _, m := range mismatches {
		right, wrong, ok := strings.Cut(m.what, " read as ")
		if !ok || m.num == 1001 { // so little is a clock's drift
			continue
		}
		try(m.num, m.den, m.what)
		if !strings.Contains(wrong, ",") {
			try(m.den, m.num, wrong+" read as "+right)
		}
	}
}

// sureAt is the confidence of the quotes with all times moved.
func sureAt(ctx context.Context, src Source, by timecode.Ticks) ([]float64, bool) {
	return sureWith(ctx, src, Drift{Offset: by})
}

// sureWith is the same with times on another clock.
func sureWith(ctx context.Context, src Source, by Drift) ([]float64, bool) {
	list := builtWith(ctx, src, by)
	if len(list) == 0 {
		return nil, false
	}
	return Confidence(list, src.Heard), true
}

// builtWith is the quotes with times on another clock; none if there can't be.
func builtWith(ctx context.Context, src Source, by Drift) []story.Quote {
	src.Document = by.Correct(src)
	res, err := Build(ctx, src)
	if err != nil {
		return nil
	}
	return res.Quotes
}

// wordless is a document without its words' own times: those of its cues tell
// where it lies, and are moved to heard speech.
func wordless(doc *timedtext.Document) *timedtext.Document {
	out := *doc
	out.Cues = slices.Clone(doc.Cues)
	for i := range out.Cues {
		c := &out.Cues[i]
		c.Lines = slices.Clone(c.Lines)
		for k := range c.Lines {
			c.Lines[k] = slices.Clone(c.Lines[k])
			for r := range c.Lines[k] {
				c.Lines[k][r].Words = nil
			}
		}
	}
	return &out
}

// beginning is a document's first cues, with about as much text as is looked at.
func beginning(doc *timedtext.Document) *timedtext.Document {
	const words = 12 * belongMost
	n := 0
	for i, c := range doc.Cues {
		if n > words {
			out := *doc
			out.Cues = doc.Cues[:i]
			return &out
		}
		n += int(weigh(c.Plain()))/2 + 1
	}
	return doc
}

// Doubt takes confidence from quotes whose neighbourhood fits the sound no
// better than by chance: each may look right and none is. It changes sure.
func (b Belonging) Doubt(sure []float64) {
	if b.floor == 0 {
		return
	}
	for i, v := range neighbours(sure) {
		if v < b.floor || b.Doubtful && sure[i] == sureWords {
			sure[i] *= belongLost
		}
	}
}

// neighbours is the mean over a quote and those on both sides of it.
func neighbours(v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = mean(v[max(0, i-belongAround):min(len(v), i+belongAround+1)])
	}
	return out
}

func mean(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x
	}
	return sum / float64(max(1, len(v)))
}

func deviation(v []float64) float64 {
	m, sum := mean(v), 0.0
	for _, x := range v {
		sum += (x - m) * (x - m)
	}
	return math.Sqrt(sum / float64(max(1, len(v)-1)))
}
