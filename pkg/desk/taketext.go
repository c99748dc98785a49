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
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// readText reads a transcript and the digest of its bytes. base is what its
// timecodes count in where neither it nor an option says so.
func (in *ingest) readText(ctx context.Context, path string, base timecode.Base) (*timedtext.Document, string, error) {
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
		Name: filepath.Base(path), As: timedtext.Format(in.opt.As), Encoding: in.opt.Encoding, Base: base, Stop: ctx.Err,
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
	return o.For == "" && o.As == "" && o.Encoding == "" && o.Rate == "" && o.Language == "" && !o.Again && !o.KeepTimes
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
	if known && in.asRead() && untouched(f.info, old.Transcript.Bytes, old.Transcript.Modified) {
		return FileReport{Path: f.path, State: Unchanged, Reel: old.Reel, What: "words of " + old.Reel}
	}
	likely, err := in.likely(ctx, f, old)
	if err != nil {
		return refusal(f.path, "", err)
	}
	doc, digest, err := in.readText(ctx, f.path, likely.Clock.Base)
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
	return in.putText(ctx, &incoming{file: f, all: all, doc: doc, source: source, base: likely.Clock.Base})
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
	_, err = in.change(ctx, "ingest", fmt.Sprintf("words of %s are at %s", rec.Reel, f.path), func(tx *bank.Tx) error {
		now, err := tx.Recording(rec.Reel)
		if err != nil || now.Transcript.Digest != source.Digest {
			return err
		}
		now.Transcript.Path, now.Transcript.Bytes, now.Transcript.Modified = f.path, f.info.Size(), f.info.ModTime()
		return tx.PutRecording(now)
	})
	if err != nil {
		return refusal(f.path, rec.Reel, err), true
	}
	return r, true
}

// incoming is a transcript that was read, and what becomes of it.
type incoming struct {
	file   found
	all    []found // the transcripts of this run
	doc    *timedtext.Document
	source story.Transcript
	// base is what its timecodes were read in.
	base timecode.Base

	rec   story.Recording
	heard *story.Heard
	// from is the reel that had these words until now; it loses them, and
	// goes if it had no sound. Its Reel is "" if there is none.
	from   story.Recording
	cut    *recut
	lists  []story.Selects
	report FileReport
}

// putText pairs a transcript, cuts it and stores the words.
func (in *ingest) putText(ctx context.Context, t *incoming) FileReport {
	_, err := in.settle(ctx, "ingest", func() (func(*bank.Tx) error, error) {
		if err := in.settleText(ctx, t); err != nil {
			return nil, err
		}
		return func(tx *bank.Tx) error { return in.storeText(tx, t) }, nil
	})
	if err != nil {
		return refusal(t.file.path, t.rec.Reel, err)
	}
	in.lost(&t.report, t.cut, t.lists)
	return t.report
}

// settleText finds the reel and makes the quotes, from the bank as it is now.
func (in *ingest) settleText(ctx context.Context, t *incoming) error {
	old, err := in.bank.ByTranscriptPath(ctx, t.file.path)
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return err
	}
	rec, state, note, err := in.pair(ctx, t.file, t.doc, t.all, old)
	t.rec = rec
	if err != nil {
		return err
	}
	if (in.opt.Again || in.opt.KeepTimes) && rec.Transcript.Digest == t.source.Digest {
		state = ReadAgain
	}
	if t.doc.Labels && rec.Clock.Base != t.base {
		// Paired by what only the words told: now the rate is known.
		if t.doc, _, err = in.readText(ctx, t.file.path, rec.Clock.Base); err != nil {
			return err
		}
		t.base = rec.Clock.Base
	}
	t.rec.Transcript = t.source
	if in.opt.Language != "" {
		t.rec.Language = in.opt.Language
	}
	t.heard, err = in.bank.Heard(ctx, rec.Reel)
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return err
	}
	var moved []story.Quote
	if t.from = (story.Recording{}); old.Reel != rec.Reel {
		t.from = old
	}
	if t.from.Reel != "" {
		if moved, err = in.quotesOf(ctx, t.from.Reel); err != nil {
			return err
		}
	}
	if t.cut, err = in.cut(ctx, t.rec, t.doc, t.heard, moved, false); err != nil {
		return err
	}
	if len(t.cut.carried.Quotes) == 0 {
		return refuse("type the words in behind the times, then ingest it again", "it holds no words yet")
	}
	t.rec.Language = t.cut.language
	t.lists, err = in.bank.AllSelects(ctx)
	t.describe(state, note)
	return err
}

// describe says what becomes of the file.
func (t *incoming) describe(state FileState, note string) {
	n := len(t.cut.carried.Quotes)
	t.report = FileReport{Path: t.file.path, State: state, Reel: t.rec.Reel, Quotes: n}
	if t.from.Essence != "" {
		left := fmt.Sprintf("%s had these words until now and has none any more", t.from.Reel)
		if gone := len(t.cut.carried.Gone); gone > 0 {
			left += fmt.Sprintf("; %s no place in %s", count(gone, "quote has", "quotes have"), t.rec.Reel)
		}
		t.report.Notes = append(t.report.Notes, left+" ('rushlight undo' takes it back)")
	}
	t.report.Notes = append(t.report.Notes, t.cut.warnings...)
	if note != "" {
		t.report.Notes = append(t.report.Notes, note)
	}
	t.report.What = fmt.Sprintf("%s in %s", count(n, "quote", "quotes"), t.rec.Reel)
	if t.cut.language != "" {
		t.report.What += ", " + t.cut.language
	}
}

// storeText writes what settleText made.
func (in *ingest) storeText(tx *bank.Tx, t *incoming) error {
	tx.SetSummary(fmt.Sprintf("%s words of %s: %s", t.report.State, t.rec.Reel, t.report.What))
	switch {
	case t.from.Reel == "":
	case t.from.Essence == "":
		if err := tx.RemoveRecording(t.from.Reel); err != nil {
			return err
		}
	default:
		t.from.Transcript = story.Transcript{}
		if err := tx.PutRecording(t.from); err != nil {
			return err
		}
		if err := tx.PutQuotes(t.from.Reel, nil); err != nil {
			return err
		}
	}
	if err := tx.PutRecording(t.rec); err != nil {
		return err
	}
	if t.heard != nil {
		t.heard.Turns = t.cut.turns
		if err := tx.PutHeard(t.rec.Reel, *t.heard); err != nil {
			return err
		}
	}
	return t.cut.put(tx, t.rec.Reel, t.lists)
}

// shorten cuts text to n characters at most.
func shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return strings.TrimRight(string(r[:n-1]), " ") + "…"
}
