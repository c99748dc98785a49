package desk

import (
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
	"unicode"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/quotes"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// readText reads a transcript and the digest of its bytes.
func (in *ingest) readText(path string) (*timedtext.Document, string, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, "", err
	}
	defer file.Close()
	h := sha256.New()
	doc, err := timedtext.Read(io.TeeReader(file, h), timedtext.ReadOptions{
		Name: filepath.Base(path), As: timedtext.Format(in.opt.As), Encoding: in.opt.Encoding, Base: in.base,
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
	doc, digest, err := in.readText(f.path)
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
	rec.Transcript = source
	return in.putText(ctx, rec, doc, state, note)
}

// sameText handles a transcript whose very bytes are in the bank already.
func (in *ingest) sameText(ctx context.Context, f found, source story.Transcript) (FileReport, bool) {
	rec, err := in.bank.ByTranscriptDigest(ctx, source.Digest)
	if err != nil {
		return FileReport{}, false
	}
	r := FileReport{Path: f.path, State: Unchanged, Reel: rec.Reel, What: "words of " + rec.Reel}
	switch {
	case rec.Transcript.Path != f.path && exists(rec.Transcript.Path):
		r.What = "the same words as " + rec.Transcript.Path
		return r, true
	case rec.Transcript.Path != f.path:
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

// pair finds the reel a transcript belongs to: the one named by --for, the
// one it was read for before, the one whose name its stem begins with, or the
// only reel in its folder that waits for words. A transcript of no recording
// becomes a reel of its own.
func (in *ingest) pair(ctx context.Context, f found, doc *timedtext.Document, all []found, old story.Recording) (story.Recording, FileState, string, error) {
	if in.opt.For != "" {
		rec, err := in.bank.Recording(ctx, in.opt.For)
		return rec, stateOf(rec), "", err
	}
	if old.Reel != "" {
		return old, Corrected, "", nil
	}
	recs, err := in.bank.Recordings(ctx)
	if err != nil {
		return story.Recording{}, "", "", err
	}
	rec, ok := byStem(recs, stemOf(f.path))
	if !ok {
		rec, ok = byFolder(recs, f, all)
	}
	switch t := rec.Transcript.Path; {
	case ok && t != "" && t != f.path && exists(t):
		return rec, "", "", refuse("to put this one in its place: rushlight ingest --for "+rec.Reel+" FILE",
			"%s has its words from %s already", rec.Reel, t)
	case ok:
		return rec, stateOf(rec), "", nil
	}
	name, err := in.freeReel(ctx, f.path)
	rec = story.Recording{Reel: name, Day: dayOf(name, f.path, ""), Language: in.opt.Language, Clock: timecode.Clock{Base: in.base}}
	if doc.Base.Rate.Known() && !in.ruled {
		rec.Clock.Base = doc.Base
	}
	if doc.Labels && len(doc.Cues) > 0 {
		rec.Clock.Start = rec.Clock.Base.Rate.Snap(doc.Cues[0].In, timecode.Floor)
	}
	return rec, StateNew, "no recording of that name: kept as a reel of its own; to pair it, --for REEL", err
}

func stateOf(rec story.Recording) FileState {
	if rec.Transcript.Path == "" {
		return StateNew
	}
	return Corrected
}

// byStem finds the reel with the longest name that the stem is, or begins
// with before a sign: D1-INT1.en, D1-INT1_transcript. Case, hyphens and
// underscores don't matter. A tape name serves as well.
func byStem(recs []story.Recording, stem string) (story.Recording, bool) {
	var best story.Recording
	longest := 0
	want := plainName(stem)
	for _, r := range recs {
		for _, name := range []string{plainName(r.Reel), plainName(r.Tape)} {
			if name == "" || len(name) <= longest || !strings.HasPrefix(want, name) {
				continue
			}
			if want == name || endsAtSign(stem, len([]rune(name))) {
				best, longest = r, len(name)
			}
		}
	}
	return best, longest > 0
}

// plainName is lower case letters and digits; every run of signs is dropped.
func plainName(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// endsAtSign tells whether the stem has a sign right after its first n
// letters and digits.
func endsAtSign(stem string, n int) bool {
	for _, r := range stem {
		alnum := unicode.IsLetter(r) || unicode.IsDigit(r)
		if n == 0 {
			return !alnum
		}
		if alnum {
			n--
		}
	}
	return false
}

// byFolder pairs the only transcript of a folder with the only reel there
// that waits for words.
func byFolder(recs []story.Recording, f found, all []found) (story.Recording, bool) {
	dir := filepath.Dir(f.path)
	here := slices.DeleteFunc(slices.Clone(all), func(o found) bool { return filepath.Dir(o.path) != dir })
	var waiting []story.Recording
	for _, r := range recs {
		if r.Essence != "" && r.Transcript.Path == "" && filepath.Dir(r.Path) == dir {
			waiting = append(waiting, r)
		}
	}
	if len(here) != 1 || len(waiting) != 1 {
		return story.Recording{}, false
	}
	return waiting[0], true
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
}

// cut cuts a document into quotes and carries over what the old ones had.
func (in *ingest) cut(ctx context.Context, rec story.Recording, doc *timedtext.Document, heard *story.Heard) (*recut, error) {
	taken, err := in.bank.CodeTaken(ctx)
	if err != nil {
		return nil, err
	}
	var before []story.Quote
	for q, err := range in.bank.Quotes(ctx, bank.Filter{Reel: rec.Reel}) {
		if errors.Is(err, bank.ErrNotFound) {
			break // a reel that is yet to be made
		}
		if err != nil {
			return nil, err
		}
		before = append(before, q)
	}
	res, err := quotes.Build(quotes.Source{Recording: rec, Document: doc, Heard: heard, Taken: taken})
	if err != nil {
		return nil, err
	}
	c := &recut{carried: quotes.Carry(before, res.Quotes), language: res.Language}
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

// recut cuts the words that a reel has again, now that its sound was heard.
// A transcript that is gone or changed leaves the quotes as they are.
func (in *ingest) recut(ctx context.Context, rec story.Recording, heard *story.Heard) (*recut, string) {
	doc, digest, err := in.readText(rec.Transcript.Path)
	if err != nil || digest != rec.Transcript.Digest {
		return nil, "its words stay as they were cut: " + rec.Transcript.Path + " is gone or has changed; ingest it again"
	}
	c, err := in.cut(ctx, rec, doc, heard)
	if err != nil {
		return nil, "its words stay as they were cut: " + err.Error()
	}
	return c, ""
}

// putText cuts and stores the words of a reel.
func (in *ingest) putText(ctx context.Context, rec story.Recording, doc *timedtext.Document, state FileState, note string) FileReport {
	path := rec.Transcript.Path
	if in.opt.Language != "" {
		rec.Language = in.opt.Language
	}
	heard, err := in.bank.Heard(ctx, rec.Reel)
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return refusal(path, rec.Reel, err)
	}
	c, err := in.cut(ctx, rec, doc, heard)
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

// put stores the quotes of a reel. Selects with a quote that became part of
// another go on with that one.
func (c *recut) put(tx *bank.Tx, reel string, lists []story.Selects) error {
	if err := tx.PutQuotes(reel, c.carried.Quotes); err != nil {
		return err
	}
	into := map[story.Code]story.Code{}
	for _, m := range c.carried.Merged {
		for _, from := range m.From {
			into[from] = m.Into
		}
	}
	for _, s := range lists {
		changed := false
		for i, it := range s.Items {
			if code, ok := into[it.Code]; ok {
				s.Items[i].Code, changed = code, true
			}
		}
		if !changed {
			continue
		}
		if err := tx.PutSelects(s); err != nil {
			return err
		}
	}
	return nil
}

// lost reports quotes with tags, or in selects, that the new words have no
// place for.
func (in *ingest) lost(r *FileReport, c *recut, lists []story.Selects) {
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
