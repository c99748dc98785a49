package desk

import (
	"context"
	"fmt"
	"math"

	"rushlight/pkg/quotes"
	"rushlight/pkg/timecode"
)

// onSound is a transcript with its times moved to the sound's clock, and what
// is known of them.
type onSound struct {
	source  quotes.Source
	drift   quotes.Drift
	times   bool // drift is known
	belongs quotes.Belonging
}

// putOnSound moves the times of a transcript to where its words are said: by the
// drift of its clock, or all by the same if that is what is wrong with them.
func putOnSound(ctx context.Context, src quotes.Source) onSound {
	o := onSound{source: src}
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
		out = append(out, describeDrift(o.drift))
	}
	switch by := o.belongs.Offset; {
	case o.belongs.Rate != "":
		out = append(out, withRates("the transcript's words fit the sound no better than by chance: its times fit a frame rate of "+o.belongs.Rate))
	case o.belongs.Doubtful:
		out = append(out, "the transcript's words fit the sound no better than by chance: is it another recording's, are its times off by more than a minute, is much of the talk not in it?")
	case by > 0:
		out = append(out, fmt.Sprintf("the transcript's times are about %s s early: moved to where its words fit the sound", halves(by)))
	case by < 0:
		out = append(out, fmt.Sprintf("the transcript's times are about %s s late: moved to where its words fit the sound", halves(-by)))
	}
	if a := o.belongs.Astray; !o.belongs.Doubtful && a >= astrayMuch {
		out = append(out, fmt.Sprintf("about %.0f %% of the transcript's words fit the sound badly, as where a passage is missing or out of its place ('rushlight listen REEL --align' marks them)", 100*a))
	}
	return out
}

// astrayMuch is the share of the words from which on it is said that they fit
// badly.
const astrayMuch = 0.25

func halves(t timecode.Ticks) string {
	return fmt.Sprintf("%g", math.Round(2*t.Seconds())/2)
}
