package quotes

import (
	"context"
	"errors"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Build cuts a document into quotes. Each has an in before its out, none
// reaches beyond the recording, and nobody's overlap their own. Every word of
// the document stands in one quote, in order, but for cues that begin past
// the end of the recording: those are left out with a warning. A document
// without words gives no quotes and a warning.
//
// Errors: no document; ErrPastEnd if all of it lies outside the recording;
// that of ctx, which is looked at all the time.
func Build(ctx context.Context, src Source) (Result, error) {
	if src.Document == nil {
		return Result{}, errors.New("no transcript to cut into quotes")
	}
	f := newFlow(ctx, src)
	f.language = Language(src.Document, src.Recording.Language)
	f.loose = f.looseDoc()
	f.quiet = f.silences()
	if err := f.takeCues(); err != nil {
		return Result{}, err
	}
	if err := f.cutAndPlace(); err != nil {
		return Result{}, err
	}
	res := Result{Quotes: f.quotes(), Warnings: f.warnings, Language: f.language, Shift: f.shift}
	if err := ctx.Err(); err != nil {
		return Result{}, err
	}
	if len(res.Quotes) == 0 {
		res.Warnings = append(res.Warnings, Warning{What: "the transcript holds no words"})
	}
	return res, nil
}

// looseDoc tells whether a document is written without full stops.
func (f *flow) looseDoc() bool {
	words, stops := 0, 0
	for _, c := range f.doc.Cues {
		if f.ctx.Err() != nil {
			break
		}
		text := c.Plain()
		words += len(strings.Fields(text))
		letters := 0
		for i, r := range text {
			switch {
			case strings.ContainsRune("!?。！？", r), r == '.' && (i+1 == len(text) || text[i+1] <= ' ' || strings.ContainsRune("\"'”’»)", rune(text[i+1]))):
				stops++
			case unspaced(r):
				letters++
			}
		}
		words += letters / 2
	}
	return isLoose(words, stops)
}

// quotes makes quotes of the placed sentences.
func (f *flow) quotes() []story.Quote {
	rec := f.src.Recording
	essence := rec.Essence
	if essence == "" {
		essence = rec.Reel
	}
	used := make(map[story.Code]bool, len(f.pieces))
	taken := func(c story.Code) bool { return used[c] || f.src.Taken != nil && f.src.Taken(c) }
	out := make([]story.Quote, 0, len(f.pieces))
	for i, s := range f.pieces {
		if f.ctx.Err() != nil {
			break
		}
		code := story.NewCode(essence, s.In, taken)
		used[code] = true
		q := story.Quote{
			Code: code, Reel: rec.Reel, Day: rec.Day, Speaker: s.speaker, Span: s.Span,
			Text: tidy(s.text), Language: f.language, Order: i, InBy: s.inBy, OutBy: s.outBy, Clock: rec.Clock,
		}
		for _, w := range s.words {
			span := timecode.Span{In: max(w.In, s.In), Out: min(w.Out, s.Out)}
			span.In = min(span.In, s.Out)
			span.Out = max(span.In, span.Out)
			q.Words = append(q.Words, story.Word{Text: w.text, Span: span})
		}
		if q.Speaker == "" && f.src.Heard != nil {
			q.Speaker = turnAt(f.src.Heard.Turns, s.Span, 0.7)
		}
		out = append(out, q)
	}
	return slices.Clip(out)
}
