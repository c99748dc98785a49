package selects

import (
	"fmt"
	"slices"

	"rushlight/pkg/story"
)

// Recut is what a corrected transcript made of quotes that selects may hold.
type Recut struct {
	// Joined gives for an old code the quote that its saying is now part of.
	Joined map[story.Code]story.Code
	// Parts gives for an old code the quotes that its saying is now, in order.
	Parts map[story.Code][]story.Quote
}

// Follow makes selects say after a correction what they said before: an item
// whose quote became part of a longer one keeps its own in and out, as if it
// had been trimmed; one whose quote became several becomes as many items. Items
// that were trimmed by hand stay as they are, but for a new code. The notes say
// it by position, and changed tells whether anything did.
func Follow(s story.Selects, r Recut) (out story.Selects, notes []string, changed bool) {
	out = s
	out.Items = nil
	for _, it := range s.Items {
		into, joined := r.Joined[it.Code]
		parts := r.Parts[it.Code]
		switch {
		case joined && !it.Trimmed:
			name := string(into)
			if it.Code != into {
				name = fmt.Sprintf("%s (in %s now)", it.Code, into)
			}
			changed, it.Code, it.Trimmed = true, into, true
			out.Items = append(out.Items, it)
			notes = append(notes, fmt.Sprintf("%s, item %d of %q, is part of a longer saying now: its own in and out stay", name, len(out.Items), s.Name))
		case joined:
			changed, it.Code = true, into
			out.Items = append(out.Items, it)
		case len(parts) > 1 && !it.Trimmed:
			changed = true
			first := len(out.Items) + 1
			for _, q := range parts {
				part := story.Item{Code: q.Code, Reel: q.Reel, Span: q.Span, Speaker: q.Speaker, Text: q.Text, Clock: q.Clock}
				if q.Code == it.Code {
					part.ID, part.Note = it.ID, it.Note
				}
				out.Items = append(out.Items, part)
			}
			notes = append(notes, fmt.Sprintf("%s, item %d of %q, is %d sayings now: all are in it, items %d to %d", it.Code, first, s.Name, len(parts), first, len(out.Items)))
		default:
			out.Items = append(out.Items, it)
		}
	}
	if !changed {
		out.Items = slices.Clone(s.Items)
	}
	return out, notes, changed
}
