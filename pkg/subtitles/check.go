// Package subtitles drafts subtitles from quotes and checks them.
package subtitles

import "rushlight/pkg/timedtext"

// Check lists what breaks the limits.
func Check(doc *timedtext.Document, lim Limits) []Finding {
	var out []Finding
	for i, c := range doc.Cues {
		if c.Empty() {
			out = append(out, Finding{Cue: i + 1, At: c.In, Rule: RuleOrder, What: "out is not after in", Severity: Wrong})
		}
	}
	return out
}
