package review

import (
	"cmp"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Context is what is known around a saying. The zero Context knows nothing.
type Context struct {
	// Before and After are the neighbouring quotes of the reel, in order of
	// time; a few on each side are enough.
	Before, After []story.Quote
	// Heard is what was heard in the reel, nil if it has no sound.
	Heard *story.Heard
	// Language is a BCP 47 tag, used where the quote has none.
	Language string
	// Asker is who asks in the reel, "" if nobody is known to.
	Asker string
	// Habit is how the speaker usually talks; if zero, it is taken from
	// their quotes in Before and After.
	Habit Habit
}

// Part is one reason for a score.
type Part struct {
	Name string `json:"name"`
	// Value is 0 to 1. Weight is how much it counts; 0 where it isn't known.
	Value  float64 `json:"value"`
	Weight float64 `json:"weight"`
	// Why says it for people.
	Why string `json:"why"`
}

// Score is how quotable a passage is: the weighted mean of its parts, 0 to 1.
// It is for ordering; nothing is hidden because of it.
type Score struct {
	Total float64 `json:"total"`
	Parts []Part  `json:"parts"`
}

// Part finds a part by name; the zero Part if there is none.
func (s Score) Part(name string) Part {
	for _, p := range s.Parts {
		if p.Name == name {
			return p
		}
	}
	return Part{}
}

// The names of the parts, in the order in which a score gives them.
const (
	PartComplete = "complete"
	PartLength   = "length"
	PartAnswer   = "answer"
	PartEnergy   = "energy"
	PartPace     = "pace"
	PartAlone    = "alone"
	PartSound    = "sound"
	PartFluent   = "fluent"
	PartEmphasis = "emphasis"
	PartSelf     = "self"
	PartConcrete = "concrete"
)

// The weights. Common practice, no source: no text is known in which editors
// marked what they kept. The spans that answer people's questions about
// meetings (QMSum) were tried and tell nothing: the area under the curve of
// Total for turns inside against outside them was 0.50 in 33 meetings.
const (
	weightComplete = 3.0
	weightLength   = 2.0
	weightAnswer   = 3.0
	weightEnergy   = 1.0
	weightPace     = 0.5
	weightAlone    = 1.5
	weightSound    = 1.5
	weightFluent   = 1.0
	weightEmphasis = 1.0
	weightSelf     = 1.0
	weightConcrete = 1.0
)

// A length that can be used: 6 to 25 s (common practice, no source).
const (
	lengthLeast = 6 * timecode.Second
	lengthMost  = 25 * timecode.Second
)

// Quotability scores a saying, or a passage as Passage.Quote joins it. Parts
// about which nothing is known (no sound, no word list for the language) have
// weight 0.
func Quotability(q story.Quote, ctx Context) Score {
	language := cmp.Or(q.Language, ctx.Language)
	s, t := cut(q.Text), tongueOf(language)
	around := slices.Concat(ctx.Before, ctx.After)
	habit := ctx.Habit
	if habit == (Habit{}) {
		habit = Habits(around, ctx.Heard)[q.Speaker]
	}
	parts := []Part{
		complete(q.Text, s, t, around),
		lengthPart(q),
		answer(q, language, ctx.Asker),
		energy(q, habit, ctx.Heard),
		pace(q, s, habit, ctx.Heard),
		alone(q, around, ctx.Heard),
		soundPart(q, ctx.Heard),
		fluent(s, t),
		emphasis(q, s, t, ctx.Before),
		self(s, t),
		concrete(q.Text, s, t),
	}
	var sum, weights float64
	for i := range parts {
		parts[i].Value = min(max(parts[i].Value, 0), 1)
		sum += parts[i].Value * parts[i].Weight
		weights += parts[i].Weight
	}
	score := Score{Parts: parts}
	if weights > 0 {
		score.Total = sum / weights
	}
	return score
}

// Ranked is a passage with its score.
type Ranked struct {
	Passage Passage
	Score   Score
}

// Best joins the quotes of one reel into passages and puts them in order, most
// quotable first, ties by time. Every quote is in one of them. heard may be
// nil. Quotes must be in order of time.
func Best(quotes []story.Quote, heard *story.Heard, opt PassageOptions) []Ranked {
	habits := Habits(quotes, heard)
	var asker string
	if len(quotes) > 0 {
		asker = Askers(quotes)[quotes[0].Reel]
	}
	var out []Ranked
	at := 0
	for _, p := range Passages(quotes, opt) {
		end := at + len(p.Quotes)
		out = append(out, Ranked{p, Quotability(p.Quote(), Context{
			Before: quotes[max(0, at-3):at], After: quotes[end:min(len(quotes), end+3)],
			Heard: heard, Asker: asker, Habit: habits[p.Speaker],
		})})
		at = end
	}
	slices.SortStableFunc(out, func(a, b Ranked) int { return cmp.Compare(b.Score.Total, a.Score.Total) })
	return out
}

// complete asks whether a passage can stand by itself.
func complete(text string, s saying, t *tongue, around []story.Quote) Part {
	punctuated := strings.ContainsAny(text, fullStops)
	for _, q := range around {
		punctuated = punctuated || strings.ContainsAny(q.Text, fullStops)
	}
	p := Part{Name: PartComplete, Weight: weightComplete, Value: 1, Why: "stands by itself"}
	judge := func(value float64, why string) {
		if value < p.Value {
			p.Value, p.Why = value, why
		}
	}
	judge(begins(s, t))
	judge(ends(text, s, t, punctuated))
	if n := s.count(); n < 4 {
		judge(0.2+0.2*float64(n), "only a few words")
	}
	return p
}

// lengthPart asks whether the length can be used.
func lengthPart(q story.Quote) Part {
	p := Part{Name: PartLength, Weight: weightLength, Value: 1}
	length := max(q.Length(), 0)
	p.Why = length.Short()
	switch {
	case length < lengthLeast:
		p.Value = 0.1 + 0.9*float64(length)/float64(lengthLeast)
		p.Why += ", short"
	case length > lengthMost:
		p.Value = max(float64(lengthMost)/float64(length), 0.2)
		p.Why += ", long"
	}
	return p
}

// answer asks whether it is the contributor who speaks, and does not ask.
func answer(q story.Quote, language, asker string) Part {
	p := Part{Name: PartAnswer, Weight: weightAnswer, Value: 1, Why: "not a question"}
	kind, _ := IsQuestion(q.Text, language)
	switch {
	case asker != "" && q.Speaker == asker:
		p.Value, p.Why = 0, "who asks speaks"
	case kind != "":
		p.Value, p.Why = 0.2, "a question"
	case asker != "":
		p.Why = "an answer"
	}
	return p
}
