package desk

import (
	"context"
	"fmt"
	"math"

	"rushlight/pkg/quotes"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// onSound is a transcript with its times moved to the sound's clock, and what
// is known of them.
type onSound struct {
	source  quotes.Source
	written quotes.Source // as the file has it
	drift   quotes.Drift
	times   bool // drift is known
	belongs quotes.Belonging
	// kept tells that the times were left as they are written, by wish.
	kept bool
}

// putOnSound moves the times of a transcript to where its words are said: by the
// drift of its clock, or all by the same if that is what is wrong with them.
// With keep it only finds out what is wrong.
func putOnSound(ctx context.Context, src quotes.Source, keep bool) (o onSound) {
	o = onSound{source: src, written: src}
	if keep {
		defer o.leave()
	}
	if o.drift, o.times = quotes.ClockDrift(ctx, src); o.drift.Sure {
		o.source.Document = o.drift.Correct(src)
	}
	b, ok := quotes.Belongs(ctx, o.source)
	if !ok {
		return o
	}
	o.belongs = b
	if b.Offset != 0 {
		o.source.Document = quotes.Drift{Offset: b.Offset}.Correct(o.source)
		if d, ok := quotes.ClockDrift(ctx, o.source); ok { // to hundredths of a second, as words' own times need it
			d.PPM = 0
			o.source.Document = d.Correct(o.source)
		}
	}
	return o
}

// warnings say what was found and done, for people.
func (o onSound) warnings() (out []string) {
	if o.drift.Sure {
		out = append(out, describeDrift(o.drift)+o.done("moved to the sound's clock"))
	}
	switch by := o.belongs.Offset; {
	case o.belongs.Rate != "":
		out = append(out, withRates("the transcript's words fit the sound no better than by chance: its times fit a frame rate of "+o.belongs.Rate))
	case o.belongs.Doubtful:
		out = append(out, "the transcript's words fit the sound no better than by chance: is it another recording's, are its times off by more than a minute, is much of the talk not in it? 'rushlight undo' takes it back")
	case by > 0:
		out = append(out, fmt.Sprintf("the transcript's times are about %s s early", halves(by))+o.done("moved to where its words fit the sound"))
	case by < 0:
		out = append(out, fmt.Sprintf("the transcript's times are about %s s late", halves(-by))+o.done("moved to where its words fit the sound"))
	}
	if a := o.belongs.Astray; !o.belongs.Doubtful && a >= astrayMuch {
		out = append(out, fmt.Sprintf("about %.0f %% of the transcript's words fit the sound badly, as where a passage is missing or out of its place ('rushlight listen REEL --align' marks them)", 100*a))
	}
	return out
}

// done says what was done about times, and how to have them otherwise.
func (o onSound) done(what string) string {
	if o.kept {
		return ": left as they are; 'ingest --again' moves them"
	}
	return ": " + what + "; 'ingest --keep-times' leaves them"
}

// leave takes the times as they are written.
func (o *onSound) leave() { o.source, o.kept = o.written, true }

// leftAlone tells whether the quotes of a reel lie where the transcript has
// them, rather than where they would be moved to.
func (o onSound) leftAlone(ctx context.Context, list []story.Quote) bool {
	if !o.drift.Sure && o.belongs.Offset == 0 {
		return false
	}
	return away(ctx, o.written, list) < away(ctx, o.source, list)
}

// away is how far quotes lie, in all, from where a source has their words.
func away(ctx context.Context, src quotes.Source, list []story.Quote) (sum timecode.Ticks) {
	res, err := quotes.Build(ctx, src)
	if err != nil {
		return 0
	}
	at := map[string]timecode.Ticks{}
	for _, q := range res.Quotes {
		at[q.Text] = q.In
	}
	for _, q := range list {
		if in, ok := at[q.Text]; ok {
			sum += max(in-q.In, q.In-in)
		}
	}
	return sum
}

// astrayMuch is the share of the words from which on it is said that they fit
// badly.
const astrayMuch = 0.25

func halves(t timecode.Ticks) string {
	return fmt.Sprintf("%g", math.Round(2*t.Seconds())/2)
}
