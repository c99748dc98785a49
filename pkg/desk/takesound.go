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
	if known && old.Bytes == f.info.Size() && old.Modified.Equal(f.info.ModTime()) && !in.opt.Again {
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
	rec.Path, rec.Bytes, rec.Modified = f.path, f.info.Size(), f.info.ModTime()
	_, err := in.change(ctx, "ingest", fmt.Sprintf("%s is at %s", rec.Reel, f.path), func(tx *bank.Tx) error {
		return tx.PutRecording(rec)
	})
	if err != nil {
		return refusal(f.path, rec.Reel, err)
	}
	return r
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
	now := rec
	in.describeSound(&now, f.path, rd.Info())
	now.Duration = rec.Duration
	if reflect.DeepEqual(now, rec) {
		return r
	}
	now.Bytes, now.Modified = f.info.Size(), f.info.ModTime()
	r.State, r.What = Corrected, fmt.Sprintf("the same sound, from %s now", now.Clock.In(0).Timecode)
	_, err = in.change(ctx, "ingest", fmt.Sprintf("corrected %s: %s", rec.Reel, r.What), func(tx *bank.Tx) error {
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
	if same, ok, err := in.byEssence(ctx, hash); err != nil {
		return refusal(f.path, "", err)
	} else if ok && !in.opt.Again {
		return in.seenBefore(ctx, f, same)
	} else if ok {
		old = same
	}
	rec, state, err := in.place(ctx, f, old)
	if err != nil {
		return refusal(f.path, "", err)
	}
	info = rd.Info() // complete only now
	in.describeSound(&rec, f.path, info)
	rec.Essence, rec.Bytes, rec.Modified = hash, f.info.Size(), f.info.ModTime()
	notes := slices.Clone(info.Notes)
	if old.Essence != "" && old.Essence != hash {
		notes = append(notes, fmt.Sprintf("another recording under this name: the one before lasted %s; to keep both: 'rushlight undo', rename the file, ingest it again", length(old.Duration)))
	}
	return in.putSound(ctx, rec, heard, state, notes)
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
	rec.Clock = timecode.Clock{Base: in.base}
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
	rec.Day = dayOf(rec.Reel, path, date)
	if in.opt.Language != "" {
		rec.Language = in.opt.Language
	}
	rec.Markers = nil
	for _, m := range info.Markers {
		rec.Markers = append(rec.Markers, story.Marker{At: timecode.FromSamples(m.Frame, info.SampleRate), Label: m.Label})
	}
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

// putSound stores a recording with what was heard. Words that came before the
// sound are cut again along the pauses.
func (in *ingest) putSound(ctx context.Context, rec story.Recording, heard story.Heard, state FileState, notes []string) FileReport {
	r := FileReport{Path: rec.Path, State: state, Reel: rec.Reel, Notes: notes}
	var cut *recut
	if rec.Transcript.Path != "" {
		c, note := in.recut(ctx, rec, &heard)
		if note != "" {
			r.Notes = append(r.Notes, note)
		}
		cut = c
	}
	if cut != nil {
		heard.Turns = cut.turns
		rec.Language = cut.language
		r.Quotes = len(cut.carried.Quotes)
	}
	r.What = fmt.Sprintf("%s, %s of speech", describe(rec), length(total(heard.Speech)))
	if cut != nil && len(cut.carried.Gone) > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("%s not in it any more, %d left", count(len(cut.carried.Gone), "quote is", "quotes are"), len(cut.carried.Quotes)))
	}
	lists, err := in.bank.AllSelects(ctx)
	if err != nil {
		return refusal(rec.Path, rec.Reel, err)
	}
	_, err = in.change(ctx, "ingest", fmt.Sprintf("%s %s: %s", state, rec.Reel, r.What), func(tx *bank.Tx) error {
		if err := tx.PutRecording(rec); err != nil {
			return err
		}
		if err := tx.PutHeard(rec.Reel, heard); err != nil {
			return err
		}
		if cut == nil {
			return nil
		}
		return cut.put(tx, rec.Reel, lists)
	})
	if err != nil {
		return refusal(rec.Path, rec.Reel, err)
	}
	if cut != nil {
		in.lost(&r, cut, lists)
	}
	return r
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
