package desk

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/quotes"
	"rushlight/pkg/selects"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// readText reads a transcript and the digest of its bytes. base is what its
// timecodes count in where neither it nor an option says so.
func (in *ingest) readText(path string, base timecode.Base) (*timedtext.Document, string, error) {
	if in.ruled || !base.Rate.Known() {
		base = in.base
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, "", err
	}
	defer file.Close()
	h := sha256.New()
	doc, err := timedtext.Read(io.TeeReader(file, h), timedtext.ReadOptions{
		Name: filepath.Base(path), As: timedtext.Format(in.opt.As), Encoding: in.opt.Encoding, Base: base,
	})
	if err != nil {
		return nil, "", err
	}
	// What the reader had no need of counts for the digest too.
	if _, err := io.Copy(h, file); err != nil {
		return nil, "", err
	}
	return doc, hex.EncodeToString(h.Sum(nil)), nil
}

// asRead tells that no option asks to read a known file differently.
func (in *ingest) asRead() bool {
	o := in.opt
	return o.For == "" && o.As == "" && o.Encoding == "" && o.Rate == "" && o.Language == "" && !o.Again
}

// takeText takes in one transcript. all are the transcripts of this run, for
// pairing by folder.
func (in *ingest) takeText(ctx context.Context, f found, all []found) FileReport {
	if err := ctx.Err(); err != nil {
		return refusal(f.path, "", err)
	}
	old, err := in.bank.ByTranscriptPath(ctx, f.path)
	known := err == nil
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return refusal(f.path, "", err)
	}
	if known && in.asRead() && old.Transcript.Bytes == f.info.Size() && old.Transcript.Modified.Equal(f.info.ModTime()) {
		return FileReport{Path: f.path, State: Unchanged, Reel: old.Reel, What: "words of " + old.Reel}
	}
	likely, err := in.likely(ctx, f, old)
	if err != nil {
		return refusal(f.path, "", err)
	}
	doc, digest, err := in.readText(f.path, likely.Clock.Base)
	if err != nil {
		return refusal(f.path, "", err)
	}
	source := story.Transcript{
		Path: f.path, Digest: digest, Format: string(doc.Format), Encoding: doc.Encoding,
		Bytes: f.info.Size(), Modified: f.info.ModTime(),
	}
	if in.asRead() {
		if r, done := in.sameText(ctx, f, source); done {
			return r
		}
	}
	rec, state, note, err := in.pair(ctx, f, doc, all, old)
	if err != nil {
		return refusal(f.path, "", err)
	}
	if doc.Labels && rec.Clock.Base != likely.Clock.Base {
		// Paired by what only the words told: now the rate is known.
		if doc, _, err = in.readText(f.path, rec.Clock.Base); err != nil {
			return refusal(f.path, rec.Reel, err)
		}
	}
	rec.Transcript = source
	// Words that were a reel of their own move to the recording.
	moved := ""
	if known && old.Reel != rec.Reel && old.Essence == "" {
		moved = old.Reel
	}
	return in.putText(ctx, rec, doc, state, note, moved)
}

// sameText handles a transcript whose very bytes are in the bank already.
func (in *ingest) sameText(ctx context.Context, f found, source story.Transcript) (FileReport, bool) {
	rec, err := in.bank.ByTranscriptDigest(ctx, source.Digest)
	if err != nil {
		return FileReport{}, false
	}
	recs, err := in.bank.Recordings(ctx)
	if err != nil {
		return refusal(f.path, "", err), true
	}
	if own, ok := beside(recs, f.path); ok && own.Reel != rec.Reel {
		return FileReport{}, false // another reel with the very same words
	}
	r := FileReport{Path: f.path, State: Unchanged, Reel: rec.Reel, What: "words of " + rec.Reel}
	switch {
	case rec.Transcript.Path == f.path:
		return r, true // only touched
	case exists(rec.Transcript.Path):
		r.What = "the same words as " + rec.Transcript.Path
		return r, true
	default:
		r.State, r.What = Moved, "was "+rec.Transcript.Path
	}
	rec.Transcript.Path, rec.Transcript.Bytes, rec.Transcript.Modified = f.path, f.info.Size(), f.info.ModTime()
	_, err = in.change(ctx, "ingest", fmt.Sprintf("words of %s are at %s", rec.Reel, f.path), func(tx *bank.Tx) error {
		return tx.PutRecording(rec)
	})
	if err != nil {
		return refusal(f.path, rec.Reel, err), true
	}
	return r, true
}

// readAs finds the frame rates of a warning about a transcript whose times
// run too fast or too slow.
var readAs = regexp.MustCompile(`fit a frame rate of ([0-9.]+) read as ([0-9.]+)`)

// recut is a transcript cut into quotes along what was heard.
type recut struct {
	carried  quotes.Carried
	turns    []story.Turn
	language string
	warnings []string
	// moved says what became of items of selects, once put has run.
	moved []string
}

// cut cuts a document into quotes and carries over what the old ones had.
// once are quotes that stood elsewhere before and may be taken up again.
func (in *ingest) cut(ctx context.Context, rec story.Recording, doc *timedtext.Document, heard *story.Heard, once []story.Quote) (*recut, error) {
	taken, err := in.bank.CodeTaken(ctx)
	if err != nil {
		return nil, err
	}
	before, err := in.quotesOf(ctx, rec.Reel)
	if err != nil {
		return nil, err
	}
	src := quotes.Source{Recording: rec, Document: doc, Heard: heard, Taken: taken}
	drift, _ := quotes.ClockDrift(src)
	if drift.Sure {
		doc = drift.Correct(src)
		src.Document = doc
	}
	res, err := quotes.Build(src)
	if err != nil {
		return nil, err
	}
	c := &recut{carried: quotes.Carry(before, res.Quotes), language: res.Language}
	if drift.Sure {
		c.warnings = append(c.warnings, describeDrift(drift))
	}
	retired, err := in.bank.Retired(ctx, rec.Reel)
	if err != nil {
		return nil, err
	}
	c.takeUp(before, append(once, retired...))
	if res.Shift != 0 && !doc.Labels {
		c.warnings = append(c.warnings, fmt.Sprintf("its times start elsewhere: moved by %s to the recording's own", res.Shift))
	}
	for _, r := range doc.Repairs {
		c.warnings = append(c.warnings, r.String())
	}
	for _, w := range res.Warnings {
		text := w.String()
		if m := readAs.FindStringSubmatch(text); m != nil {
			text += fmt.Sprintf("; 'rushlight convert --from-rate %s --to-rate %s' mends that", m[2], m[1])
		}
		c.warnings = append(c.warnings, text)
	}
	if heard != nil {
		c.turns = heard.Turns
		if labels := quotes.Labels(doc, rec); len(labels) > 0 {
			c.turns = listen.Relabel(*heard, labels)
		}
	}
	return c, nil
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

// takeUp gives sayings that come back the code and marks they had once.
func (c *recut) takeUp(before, once []story.Quote) {
	if len(once) == 0 {
		return
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
	for i, q := range quotes.Carry(once, fresh).Quotes {
		c.carried.Quotes[at[i]] = q
	}
}

// recut cuts the words that a reel has again, now that its sound was heard.
// A transcript that is gone or changed leaves the quotes as they are.
func (in *ingest) recut(ctx context.Context, rec story.Recording, heard *story.Heard) (*recut, string) {
	doc, digest, err := in.readText(rec.Transcript.Path, rec.Clock.Base)
	if err != nil || digest != rec.Transcript.Digest {
		return nil, "its words stay as they were cut: " + rec.Transcript.Path + " is gone or has changed; ingest it again"
	}
	c, err := in.cut(ctx, rec, doc, heard, nil)
	if err != nil {
		return nil, "its words stay as they were cut: " + err.Error()
	}
	return c, ""
}

// putText cuts and stores the words of a reel.
// moved names a reel of the same words without sound that goes, "" for none.
func (in *ingest) putText(ctx context.Context, rec story.Recording, doc *timedtext.Document, state FileState, note, moved string) FileReport {
	path := rec.Transcript.Path
	if in.opt.Language != "" {
		rec.Language = in.opt.Language
	}
	heard, err := in.bank.Heard(ctx, rec.Reel)
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return refusal(path, rec.Reel, err)
	}
	var once []story.Quote
	if moved != "" {
		if once, err = in.quotesOf(ctx, moved); err != nil {
			return refusal(path, rec.Reel, err)
		}
	}
	c, err := in.cut(ctx, rec, doc, heard, once)
	if err != nil {
		return refusal(path, rec.Reel, err)
	}
	if len(c.carried.Quotes) == 0 {
		return refusal(path, rec.Reel, refuse("type the words in behind the times, then ingest it again", "it holds no words yet"))
	}
	rec.Language = c.language
	r := FileReport{Path: path, State: state, Reel: rec.Reel, Quotes: len(c.carried.Quotes), Notes: c.warnings}
	if note != "" {
		r.Notes = append(r.Notes, note)
	}
	r.What = fmt.Sprintf("%s in %s", count(len(c.carried.Quotes), "quote", "quotes"), rec.Reel)
	if c.language != "" {
		r.What += ", " + c.language
	}
	lists, err := in.bank.AllSelects(ctx)
	if err != nil {
		return refusal(path, rec.Reel, err)
	}
	_, err = in.change(ctx, "ingest", fmt.Sprintf("%s words of %s: %s", state, rec.Reel, r.What), func(tx *bank.Tx) error {
		if moved != "" {
			if err := tx.RemoveRecording(moved); err != nil {
				return err
			}
		}
		if err := tx.PutRecording(rec); err != nil {
			return err
		}
		if heard != nil {
			heard.Turns = c.turns
			if err := tx.PutHeard(rec.Reel, *heard); err != nil {
				return err
			}
		}
		return c.put(tx, rec.Reel, lists)
	})
	if err != nil {
		return refusal(path, rec.Reel, err)
	}
	in.lost(&r, c, lists)
	return r
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
	c.moved = nil
	for _, s := range lists {
		now, notes, changed := selects.Follow(s, r)
		if !changed {
			continue
		}
		c.moved = append(c.moved, notes...)
		if err := tx.PutSelects(now); err != nil {
			return err
		}
	}
	return nil
}

// lost reports quotes with tags, or in selects, that the new words have no
// place for.
func (in *ingest) lost(r *FileReport, c *recut, lists []story.Selects) {
	r.Notes = append(r.Notes, c.moved...)
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

// shorten cuts text to n characters at most.
func shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return strings.TrimRight(string(r[:n-1]), " ") + "…"
}
