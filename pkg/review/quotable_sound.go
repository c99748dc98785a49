package review

import (
	"fmt"
	"math"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// energy compares the level with the speaker's own: 6 dB above it is full,
// 6 dB below nothing.
func energy(q story.Quote, habit Habit, heard *story.Heard) Part {
	level, ok := levelOf(q.Span, heard)
	if !ok || !habit.Heard {
		return Part{Name: PartEnergy, Value: 0.5, Why: "not heard"}
	}
	d := level - habit.LevelDBFS
	return Part{Name: PartEnergy, Weight: weightEnergy, Value: 0.5 + d/12, Why: strings.Replace(fmt.Sprintf("%+.1f dB against their usual", d), "-", "−", 1)}
}

// pace compares words a second with the speaker's own: a little faster is
// best, twice as fast or half as fast is nothing.
func pace(q story.Quote, s saying, habit Habit, heard *story.Heard) Part {
	if habit.Pace <= 0 || q.Empty() || len(s.words) == 0 {
		return Part{Name: PartPace, Value: 0.5, Why: "their usual pace is not known"}
	}
	r := float64(s.count()) / talking(q.Span, heard).Seconds() / habit.Pace
	return Part{
		Name: PartPace, Weight: weightPace, Value: 1 - math.Abs(math.Log2(r)-0.15),
		Why: fmt.Sprintf("%.1f times their usual pace", r),
	}
}

// alone asks how much of a passage somebody else talks over: by the heard
// turns or by the neighbouring quotes, whichever tells of more.
func alone(q story.Quote, around []story.Quote, heard *story.Heard) Part {
	p := Part{Name: PartAlone, Weight: weightAlone, Value: 1, Why: "nobody talks over it"}
	if q.Empty() {
		return p
	}
	var over timecode.Ticks
	for _, o := range around {
		if o.Speaker != q.Speaker && o.Reel == q.Reel {
			over += max(q.Intersect(o.Span).Length(), 0)
		}
	}
	if heard != nil {
		over = max(over, overlap(q.Span, heard.Turns))
	}
	if share := min(float64(over)/float64(q.Length()), 1); share > 0.02 {
		p.Value = 1 - 3*share
		p.Why = fmt.Sprintf("%.0f %% of it lies under another's talk", 100*share)
	}
	return p
}

// overlap is how much of a span two people or more talk in. Turns are in
// order of In.
func overlap(span timecode.Span, turns []story.Turn) timecode.Ticks {
	var over timecode.Ticks
	counted := span.In
	for i, a := range turns {
		if a.In >= span.Out {
			break
		}
		if !a.Overlaps(span) {
			continue
		}
		for _, b := range turns[i+1:] {
			if b.In >= min(a.Out, span.Out) {
				break
			}
			if b.Speaker == a.Speaker {
				continue
			}
			both := a.Intersect(b.Span).Intersect(span)
			both.In = max(both.In, counted)
			if !both.Empty() {
				over += both.Length()
				counted = both.Out
			}
		}
	}
	return over
}

// soundPart asks for faults: clipped places, and talk that hardly rises above
// the noise.
func soundPart(q story.Quote, heard *story.Heard) Part {
	if heard == nil || len(heard.Envelope.RMS) == 0 {
		return Part{Name: PartSound, Value: 0.5, Why: "not heard"}
	}
	p := Part{Name: PartSound, Weight: weightSound, Value: 1, Why: "no fault heard"}
	n := 0
	for _, c := range heard.Clipped {
		if c.Overlaps(q.Span) {
			n++
		}
	}
	if n > 0 {
		p.Value, p.Why = 1/(1+float64(n)), fmt.Sprintf("clipped in %d places", n)
		if n == 1 {
			p.Why = "clipped in 1 place"
		}
	}
	if level, ok := levelOf(q.Span, heard); ok {
		// 15 dB above the floor is enough, 0 dB nothing.
		if above := level - heard.FloorDBFS; above/15 < p.Value {
			p.Value, p.Why = above/15, fmt.Sprintf("only %.0f dB above the noise", above)
		}
	}
	return p
}
