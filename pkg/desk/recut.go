package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/quotes"
	"rushlight/pkg/selects"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// readAs finds the frame rates of a warning about a transcript whose times
// run too fast or too slow.
var readAs = regexp.MustCompile(`fit a frame rate of ([0-9.]+) read as ([0-9.]+)`)

// recut is a transcript cut into quotes along what was heard.
type recut struct {
	carried  quotes.Carried
	turns    []story.Turn
	language string
	warnings []string
	// followed says what became of items of selects, once put has run.
	followed []string
	// shift is by how much quotes that came from another reel lie later here.
	shift map[story.Code]timecode.Ticks
}

// cut cuts a document into quotes and carries over what the old ones had.
// moved are quotes that stood on another reel before and are taken up here.
// Times that were left as they are on the same sound stay so.
func (in *ingest) cut(ctx context.Context, rec story.Recording, doc *timedtext.Document, heard *story.Heard, moved []story.Quote, same bool) (*recut, error) {
	taken, err := in.bank.CodeTaken(ctx)
	if err != nil {
		return nil, err
	}
	before, err := in.quotesOf(ctx, rec.Reel)
	if err != nil {
		return nil, err
	}
	placed := putOnSound(ctx, quotes.Source{Recording: rec, Document: doc, Heard: heard, Taken: taken}, in.opt.KeepTimes)
	if same && !placed.kept && placed.leftAlone(ctx, before) {
		placed.leave()
	}
	doc = placed.source.Document
	res, err := quotes.Build(ctx, placed.source)
	if err != nil {
		return nil, err
	}
	carried, err := quotes.Carry(ctx, before, res.Quotes)
	if err != nil {
		return nil, err
	}
	c := &recut{carried: carried, language: res.Language, warnings: placed.warnings()}
	retired, err := in.bank.Retired(ctx, rec.Reel)
	if err != nil {
		return nil, err
	}
	if err := c.takeUp(ctx, before, moved, retired); err != nil {
		return nil, err
	}
	if res.Shift != 0 && !doc.Labels {
		c.warnings = append(c.warnings, fmt.Sprintf("its times start elsewhere: moved by %s to the recording's own", res.Shift))
	}
	for _, r := range doc.Repairs {
		c.warnings = append(c.warnings, r.String())
	}
	for _, w := range res.Warnings {
		c.warnings = append(c.warnings, withRates(w.String()))
	}
	if heard != nil {
		c.turns = heard.Turns
		if labels := quotes.Labels(ctx, doc, rec); len(labels) > 0 {
			c.turns = listen.Relabel(*heard, labels)
		}
	}
	return c, nil
}

// withRates adds what mends a wrong frame rate to a warning that names one.
func withRates(text string) string {
	if m := readAs.FindStringSubmatch(text); m != nil {
		text += fmt.Sprintf("; 'rushlight convert --from-rate %s --to-rate %s' mends that", m[2], m[1])
	}
	return text
}

// quotesOf lists the quotes of a reel; none for one that is yet to be made.
func (in *ingest) quotesOf(ctx context.Context, reel string) ([]story.Quote, error) {
	var list []story.Quote
	for q, err := range in.bank.Quotes(ctx, bank.Filter{Reel: reel}) {
		if errors.Is(err, bank.ErrNotFound) {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		list = append(list, q)
	}
	return list, nil
}

// takeUp gives sayings that come back the code and marks they had once: moved
// ones from another reel, which are lost if they don't, and retired ones.
func (c *recut) takeUp(ctx context.Context, before, moved, retired []story.Quote) error {
	once := slices.Concat(moved, retired)
	if len(once) == 0 {
		return nil
	}
	had := map[story.Code]bool{}
	for _, q := range before {
		had[q.Code] = true
	}
	slices.SortStableFunc(once, func(a, b story.Quote) int { return cmp.Compare(a.In, b.In) })
	var fresh []story.Quote
	var at []int
	for i, q := range c.carried.Quotes {
		if !had[q.Code] {
			fresh, at = append(fresh, q), append(at, i)
		}
	}
	up, err := quotes.Carry(ctx, once, fresh)
	if err != nil {
		return err
	}
	for i, q := range up.Quotes {
		c.carried.Quotes[at[i]] = q
	}
	came := map[story.Code]bool{}
	for _, q := range moved {
		came[q.Code] = true
	}
	c.shift = shiftOf(moved, up)
	stayed := func(code story.Code) bool { return !came[code] }
	c.carried.Gone = append(c.carried.Gone, slices.DeleteFunc(up.Gone, stayed)...)
	c.carried.Lost = append(c.carried.Lost, slices.DeleteFunc(up.Lost, func(q story.Quote) bool { return stayed(q.Code) })...)
	c.carried.Split = append(c.carried.Split, slices.DeleteFunc(up.Split, func(s quotes.Split) bool { return stayed(s.Code) })...)
	c.carried.Merged = append(c.carried.Merged, slices.DeleteFunc(up.Merged, func(m quotes.Merge) bool { return stayed(m.Into) })...)
	return nil
}

// shiftOf tells by how much quotes from another reel lie later than they did
// there: all by the same, as the reels started at different times.
func shiftOf(moved []story.Quote, up quotes.Carried) map[story.Code]timecode.Ticks {
	now := map[story.Code]timecode.Ticks{}
	for _, q := range up.Quotes {
		now[q.Code] = q.In
	}
	var by []timecode.Ticks
	for _, q := range moved {
		if in, ok := now[q.Code]; ok {
			by = append(by, in-q.In)
		}
	}
	if len(by) == 0 {
		return nil
	}
	slices.Sort(by)
	middle := by[len(by)/2]
	if -timecode.Second < middle && middle < timecode.Second {
		return nil // only cut along other pauses
	}
	out := map[story.Code]timecode.Ticks{}
	for _, q := range moved {
		out[q.Code] = middle
	}
	return out
}

// recut cuts the words that a reel has again, now that its sound was heard.
// A transcript that is gone or changed leaves the quotes as they are. same tells
// that the sound is the one that they lie on.
func (in *ingest) recut(ctx context.Context, rec story.Recording, heard *story.Heard, same bool) (*recut, string) {
	doc, digest, err := in.readText(ctx, rec.Transcript.Path, rec.Clock.Base)
	if err != nil || digest != rec.Transcript.Digest {
		return nil, "its words stay as they were cut: " + rec.Transcript.Path + " is gone or has changed; ingest it again"
	}
	c, err := in.cut(ctx, rec, doc, heard, nil, same)
	if err != nil {
		return nil, "its words stay as they were cut: " + err.Error()
	}
	return c, ""
}

// follow says what became of the quotes that selects may hold.
func (c *recut) follow() selects.Recut {
	r := selects.Recut{Joined: map[story.Code]story.Code{}, Parts: map[story.Code][]story.Quote{}}
	for _, m := range c.carried.Merged {
		r.Joined[m.Into] = m.Into
		for _, from := range m.From {
			r.Joined[from] = m.Into
		}
	}
	for _, s := range c.carried.Split {
		for _, q := range c.carried.Quotes { // in order
			if q.Code == s.Code || slices.Contains(s.Parts, q.Code) {
				r.Parts[s.Code] = append(r.Parts[s.Code], q)
			}
		}
	}
	return r
}

// put stores the quotes of a reel. Selects go on saying what they said.
func (c *recut) put(tx *bank.Tx, reel string, lists []story.Selects) error {
	if err := tx.PutQuotes(reel, c.carried.Quotes); err != nil {
		return err
	}
	r := c.follow()
	c.followed = nil
	for _, s := range lists {
		shifted := c.shiftTrims(&s)
		now, notes, changed := selects.Follow(s, r)
		if !changed && !shifted {
			continue
		}
		c.followed = append(c.followed, notes...)
		if err := tx.PutSelects(now); err != nil {
			return err
		}
	}
	return nil
}

// shiftTrims lets trims go along with quotes that came from another reel.
func (c *recut) shiftTrims(s *story.Selects) bool {
	shifted := false
	s.Items = slices.Clone(s.Items)
	for i := range s.Items {
		it := &s.Items[i]
		if by := c.shift[it.Code]; it.Trimmed && by != 0 {
			it.In, it.Out, shifted = it.In+by, it.Out+by, true
		}
	}
	return shifted
}

// lost reports quotes with tags, or in selects, that the new words have no
// place for.
func (in *ingest) lost(r *FileReport, c *recut, lists []story.Selects) {
	r.Notes = append(r.Notes, c.followed...)
	for _, q := range c.carried.Lost {
		r.Notes = append(r.Notes, fmt.Sprintf("%s %s: %q is no longer said; its tags stay in the history", q.Code, q.Clock.In(q.In).Timecode, shorten(q.Text, 40)))
		in.report.Lost = append(in.report.Lost, q)
	}
	for _, s := range lists {
		for i, it := range s.Items {
			if slices.Contains(c.carried.Gone, it.Code) {
				r.Notes = append(r.Notes, fmt.Sprintf("%s, item %d of %q, is no longer said: %q", it.Code, i+1, s.Name, shorten(it.Text, 40)))
			}
		}
	}
}
