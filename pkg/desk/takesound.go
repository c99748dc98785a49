package desk

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"runtime/debug"
	"slices"
	"strconv"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func itoa(n int) string { return strconv.Itoa(n) }

// takeSound takes in one recording.
func (in *ingest) takeSound(ctx context.Context, f found) FileReport {
	if err := ctx.Err(); err != nil {
		return refusal(f.path, "", err)
	}
	old, err := in.bank.ByPath(ctx, f.path)
	known := err == nil
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return refusal(f.path, "", err)
	}
	if known && untouched(f.info, old.Bytes, old.Modified) && !in.opt.Again {
		return FileReport{Path: f.path, State: Unchanged, Reel: old.Reel, What: describe(old)}
	}
	if same, ok, err := in.sameEssence(ctx, f); err != nil {
		return refusal(f.path, "", err)
	} else if ok && !in.opt.Again {
		return in.seenBefore(ctx, f, same)
	}
	return in.hear(ctx, f, old)
}

// sameEssence looks for a recording with this file's sound without listening
// to it: by hash, if any in the bank is of the same size.
func (in *ingest) sameEssence(ctx context.Context, f found) (story.Recording, bool, error) {
	recs, err := in.recordings(ctx)
	if err != nil {
		return story.Recording{}, false, err
	}
	for _, r := range recs {
		if r.Essence != "" && r.Bytes == f.info.Size() {
			hash, _, err := sound.EssenceMedia(ctx, f.path)
			if err != nil {
				return r, false, err
			}
			return in.byEssence(ctx, hash)
		}
	}
	return story.Recording{}, false, nil
}

func (in *ingest) byEssence(ctx context.Context, hash string) (story.Recording, bool, error) {
	rec, err := in.bank.ByEssence(ctx, hash)
	if errors.Is(err, bank.ErrNotFound) {
		return rec, false, nil
	}
	return rec, err == nil, err
}

// seenBefore handles a file whose sound is in the bank already.
func (in *ingest) seenBefore(ctx context.Context, f found, rec story.Recording) FileReport {
	r := FileReport{Path: f.path, State: Unchanged, Reel: rec.Reel, What: describe(rec)}
	switch {
	case rec.Path == f.path:
		return in.redescribe(ctx, f, rec)
	case exists(rec.Path):
		r.What = "the same sound as " + rec.Path
		return r
	default:
		r.State, r.What = Moved, "was "+rec.Path
	}
	_, err := in.change(ctx, "ingest", fmt.Sprintf("%s is at %s", rec.Reel, f.path), func(tx *bank.Tx) error {
		return lies(tx, rec, f)
	})
	if err != nil {
		return refusal(f.path, rec.Reel, err)
	}
	return r
}

// lies remembers where the sound of a recording is now, if it is still this
// reel's.
func lies(tx *bank.Tx, rec story.Recording, f found) error {
	now, err := tx.Recording(rec.Reel)
	if err != nil || now.Essence != rec.Essence {
		return err
	}
	now.Path, now.Bytes, now.Modified = f.path, f.info.Size(), f.info.ModTime()
	return tx.PutRecording(now)
}

// redescribe takes in what a recorder's or an editor's program has changed of
// what a file says of itself, such as its start timecode; the sound is the
// same. A file that was only touched changes nothing.
func (in *ingest) redescribe(ctx context.Context, f found, rec story.Recording) FileReport {
	r := FileReport{Path: f.path, State: Unchanged, Reel: rec.Reel, What: describe(rec)}
	rd, err := sound.OpenMedia(ctx, f.path)
	if err != nil {
		return refusal(f.path, rec.Reel, err)
	}
	defer rd.Close()
	_, err = in.change(ctx, "ingest", "", func(tx *bank.Tx) error {
		was, err := tx.Recording(rec.Reel)
		if err != nil || was.Essence != rec.Essence {
			return err
		}
		now := was
		in.describeSound(&now, f.path, rd.Info())
		if now.Duration = was.Duration; reflect.DeepEqual(now, was) {
			return nil
		}
		now.Bytes, now.Modified = f.info.Size(), f.info.ModTime()
		r.State, r.What = Corrected, fmt.Sprintf("the same sound, from %s now", now.Clock.In(0).Timecode)
		tx.SetSummary(fmt.Sprintf("corrected %s: %s", now.Reel, r.What))
		return tx.PutRecording(now)
	})
	if err != nil {
		return refusal(f.path, rec.Reel, err)
	}
	return r
}

// hear listens to a file that is new, or whose sound was replaced (old).
func (in *ingest) hear(ctx context.Context, f found, old story.Recording) FileReport {
	rd, err := sound.OpenMedia(ctx, f.path)
	if err != nil {
		return refusal(f.path, "", err)
	}
	defer rd.Close()
	info := rd.Info()
	defer frugal()()
	p := in.progress()
	p.Begin("hearing "+stemOf(f.path), int64(info.Duration()))
	heard, err := listen.Hear(ctx, rd, listen.Options{
		TrackNames: trackNames(info),
		Progress:   func(done timecode.Ticks) { p.Reached(int64(done)) },
	})
	p.End()
	if err != nil {
		return refusal(f.path, "", err)
	}
	if heard.Duration > timecode.Hour {
		debug.FreeOSMemory() // what listening needed goes before storing begins
	}
	hash, err := rd.Essence()
	if err != nil {
		return refusal(f.path, "", err)
	}
	t := &hearing{file: f, heard: heard, hash: hash, info: rd.Info()} // complete only now
	return in.putSound(ctx, t, old)
}

// frugal keeps the collector close behind while a recording is heard, so that
// ten hours fit the same 64 MiB as one; the function it gives ends that.
func frugal() func() {
	before := debug.SetMemoryLimit(36 << 20)
	return func() { debug.SetMemoryLimit(before) }
}

// place finds the reel that a file becomes: the one it was, one that so far
// has words only, or a new one.
func (in *ingest) place(ctx context.Context, f found, old story.Recording) (story.Recording, FileState, error) {
	if old.Reel != "" {
		return old, Corrected, nil
	}
	rec, err := in.bank.Recording(ctx, story.ReelName(stemOf(f.path)))
	switch {
	case err == nil && rec.Essence == "":
		return rec, StateNew, nil
	case err != nil && !errors.Is(err, bank.ErrNotFound):
		return rec, "", err
	}
	name, err := in.freeReel(ctx, f.path)
	return story.Recording{Reel: name}, StateNew, err
}

func trackNames(info sound.Info) []string {
	if info.Production == nil {
		return nil
	}
	return info.Production.TrackNames
}

// describeSound writes what the file says of itself into the recording.
func (in *ingest) describeSound(rec *story.Recording, path string, info sound.Info) {
	rec.Path = path
	rec.Duration, rec.SampleRate, rec.Channels = info.Duration(), info.SampleRate, info.Channels
	rec.Encoding, rec.TrackNames, rec.Unfinished = encoding(info), trackNames(info), info.Unfinished
	// What was given by hand once holds until it is given anew.
	if rec.Clock.Start = 0; in.ruled || !rec.Clock.Base.Rate.Known() {
		rec.Clock.Base = in.base
	}
	rec.Description, rec.Originator, rec.Scene, rec.Take, rec.Tape, rec.Note = "", "", "", "", "", ""
	date := ""
	if b := info.Broadcast; b != nil {
		rec.Description, rec.Originator = b.Description, b.Originator
		rec.Clock.Start = timecode.FromSamples(int64(b.TimeReference), info.SampleRate)
		date = b.Date
	}
	if p := info.Production; p != nil {
		rec.Scene, rec.Take, rec.Tape, rec.Note = p.Scene, p.Take, p.Tape, p.Note
		if p.Base.Rate.Known() && !in.ruled {
			rec.Clock.Base = p.Base
		}
		if p.StartSamples >= 0 && info.Broadcast == nil {
			rec.Clock.Start = timecode.FromSamples(p.StartSamples, info.SampleRate)
		}
	}
	rec.Clock.Start = onFrame(rec.Clock, info.SampleRate)
	rec.Day = dayOf(rec.Reel, path, date)
	if in.opt.Language != "" {
		rec.Language = in.opt.Language
	}
	rec.Markers = nil
	for _, m := range info.Markers {
		rec.Markers = append(rec.Markers, story.Marker{At: timecode.FromSamples(m.Frame, info.SampleRate), Label: m.Label})
	}
}

// onFrame is the start of a clock, on the beginning of a frame where it lies
// within a sample of one: counted in samples, most frames of 29.97 and 59.94
// frames/s don't begin on a sample, and a start rounded down would be read as
// the frame before.
func onFrame(c timecode.Clock, sampleRate int) timecode.Ticks {
	frame := c.Base.Rate.Snap(c.Start, timecode.Nearest)
	if off := frame - c.Start; max(off, -off) <= timecode.FromSamples(1, sampleRate) {
		return frame
	}
	return c.Start
}

func encoding(info sound.Info) string {
	if info.Codec != "" {
		return info.Codec
	}
	if info.Float {
		return fmt.Sprintf("%d-bit float", info.Bits)
	}
	return fmt.Sprintf("%d-bit PCM", info.ValidBits)
}

// hearing is a recording that was heard, and what becomes of it.
type hearing struct {
	file  found
	info  sound.Info
	hash  string
	heard story.Heard

	// same is a reel that has this very sound already; its Reel is "" if
	// there is none.
	same   story.Recording
	rec    story.Recording
	turns  []story.Turn
	cut    *recut // nil if the words stay as they are
	lists  []story.Selects
	report FileReport
}

// putSound stores a recording with what was heard. old is the recording that
// was in the file's place before it was heard.
func (in *ingest) putSound(ctx context.Context, t *hearing, old story.Recording) FileReport {
	_, err := in.settle(ctx, "ingest", func() (func(*bank.Tx) error, error) {
		if err := in.settleSound(ctx, t, old); err != nil || t.same.Reel != "" {
			return nil, err
		}
		return func(tx *bank.Tx) error { return in.storeSound(tx, t) }, nil
	})
	if err != nil {
		return refusal(t.file.path, t.rec.Reel, err)
	}
	if t.same.Reel != "" {
		return in.seenBefore(ctx, t.file, t.same)
	}
	if t.cut != nil {
		in.lost(&t.report, t.cut, t.lists)
	}
	return t.report
}

// settleSound finds the reel of what was heard, from the bank as it is now,
// and cuts words that came before the sound again along the pauses.
func (in *ingest) settleSound(ctx context.Context, t *hearing, old story.Recording) error {
	t.cut, t.lists, t.same = nil, nil, story.Recording{}
	same, ok, err := in.byEssence(ctx, t.hash)
	switch {
	case err != nil:
		return err
	case ok && !in.opt.Again:
		t.same = same
		return nil
	case ok:
		old = same
	case old.Reel != "":
		// Words may have come in while it was heard, or the reel may be gone.
		if old, err = in.bank.Recording(ctx, old.Reel); err != nil && !errors.Is(err, bank.ErrNotFound) {
			return err
		}
	}
	rec, state, err := in.place(ctx, t.file, old)
	if err != nil {
		return err
	}
	if state == Corrected && rec.Essence == t.hash {
		state = ReadAgain
	}
	in.describeSound(&rec, t.file.path, t.info)
	rec.Essence, rec.Bytes, rec.Modified = t.hash, t.file.info.Size(), t.file.info.ModTime()
	t.rec, t.turns = rec, t.heard.Turns
	t.report = FileReport{Path: rec.Path, State: state, Reel: rec.Reel, Notes: slices.Clone(t.info.Notes)}
	if name := story.ReelName(stemOf(t.file.path)); state == StateNew && rec.Reel != name && name != "" {
		t.report.Notes = append(t.report.Notes, fmt.Sprintf("kept as %s: another recording is called %s", rec.Reel, name))
	}
	if old.Essence != "" && old.Essence != t.hash {
		t.report.Notes = append(t.report.Notes, fmt.Sprintf("another recording under this name: the one before lasted %s; to keep both: 'rushlight undo', rename the file, ingest it again", length(old.Duration)))
	}
	if rec.Transcript.Path != "" {
		in.recutSound(ctx, t, old.Essence == t.hash)
	}
	t.report.What = fmt.Sprintf("%s, %s of speech", describe(t.rec), length(total(t.heard.Speech)))
	t.lists, err = in.bank.AllSelects(ctx)
	return err
}

// recutSound cuts the reel's words along what was heard; same tells that it was
// heard before.
func (in *ingest) recutSound(ctx context.Context, t *hearing, same bool) {
	c, note := in.recut(ctx, t.rec, &t.heard, same)
	if note != "" {
		t.report.Notes = append(t.report.Notes, note)
	}
	if c == nil {
		return
	}
	t.cut, t.turns, t.rec.Language = c, c.turns, c.language
	t.report.Quotes = len(c.carried.Quotes)
	if n := len(c.carried.Gone); n > 0 {
		t.report.Notes = append(t.report.Notes, fmt.Sprintf("%s not in it any more, %d left", count(n, "quote is", "quotes are"), t.report.Quotes))
	}
}

// storeSound writes what settleSound made.
func (in *ingest) storeSound(tx *bank.Tx, t *hearing) error {
	tx.SetSummary(fmt.Sprintf("%s %s: %s", t.report.State, t.rec.Reel, t.report.What))
	if err := tx.PutRecording(t.rec); err != nil {
		return err
	}
	heard := t.heard
	heard.Turns = t.turns
	t.heard.Envelope = story.Envelope{} // large; once packed nobody needs it
	if err := tx.PutHeard(t.rec.Reel, heard); err != nil || t.cut == nil {
		return err
	}
	return t.cut.put(tx, t.rec.Reel, t.lists)
}

func total(spans []timecode.Span) timecode.Ticks {
	var t timecode.Ticks
	for _, s := range spans {
		t += s.Length()
	}
	return t
}

// describe says what a recording is in a few words.
func describe(r story.Recording) string {
	if r.Essence == "" {
		return "words without sound"
	}
	ch := "mono"
	if r.Channels > 1 {
		ch = fmt.Sprintf("%d channels", r.Channels)
	}
	return fmt.Sprintf("%s, %s, %s kHz %s", length(r.Duration), ch, kilohertz(r.SampleRate), r.Encoding)
}

func kilohertz(rate int) string {
	return strconv.FormatFloat(float64(rate)/1000, 'f', -1, 64)
}
