package quotes

import (
	"context"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Labels gives the speaker labels of a transcript as turns in the recording's
// own time, ordered by In. Neighbouring cues of one speaker with less than
// two seconds between them are one turn. A cue with several speakers is
// divided by the share of their text, or at their words' times. Without
// labels, and where ctx ends the work, it is empty.
func Labels(ctx context.Context, doc *timedtext.Document, rec story.Recording) []story.Turn {
	if doc == nil || !named(doc) {
		return nil
	}
	f := newFlow(ctx, Source{Recording: rec, Document: doc})
	f.language = base(doc.Language)
	if f.takeCues() != nil || f.cutAndPlace() != nil {
		return nil
	}
	var out []story.Turn
	last := map[string]int{}
	for _, s := range f.pieces {
		if s.speaker == "" {
			continue
		}
		key := strings.ToLower(s.speaker)
		if i, ok := last[key]; ok && i == len(out)-1 && s.In-out[i].Out < gapBreak {
			out[i].Out = max(out[i].Out, s.Out)
			continue
		}
		last[key] = len(out)
		out = append(out, story.Turn{
			Speaker: s.speaker, Span: timecode.Span{In: s.In, Out: s.Out},
			Source: story.ByTranscript, Channel: -1,
		})
	}
	return out
}
